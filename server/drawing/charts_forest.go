package drawing

import "math"

// Forest is a column of shares or other values, one to a row, each with its interval and how many it stands on.
type Forest struct {
	Title, Desc string
	X           Axis
	Rows        []ForestRow
	// Mark is a value that rows are compared with, such as an odds ratio of 1; nil for none.
	Mark *float64
}

// ForestRow is one value. Without Said the interval is drawn dashed and alone: there are too few to say a value.
type ForestRow struct {
	Words     string
	Value     float64
	Said      bool
	Low, High float64
	Beside    string // how many: 3 of 40
	Heading   bool   // words alone, above the rows that belong to them
	// From draws a bar from there to the value: what it lost or gained; nil for none.
	From *float64
}

const (
	forestRow     = 50.0
	forestHeading = 34.0
)

// SVG draws the rows at a width in CSS pixels, 240 or more.
func (f Forest) SVG(width int) []byte {
	w := math.Max(240, float64(width))
	const left, right, top = 12.0, 16.0, 4.0
	var values []float64
	height := 0.0
	for _, r := range f.Rows {
		if r.Heading {
			height += forestHeading
			continue
		}
		height += forestRow
		values = append(values, r.Low, r.High)
		if r.From != nil {
			values = append(values, *r.From)
		}
	}
	if f.Mark != nil {
		values = append(values, *f.Mark)
	}
	x := f.X.lay(values, left, w-right)
	foot := top + height + 4
	var shapes []Shape
	for _, v := range x.ticks(int(math.Max(2, (w-left-right)/64))) {
		shapes = append(shapes, gridLine(Point{x.at(v), top}, Point{x.at(v), foot}), under(f.X.text(v), Point{x.at(v), foot + 16}, w))
	}
	if f.Mark != nil {
		shapes = append(shapes, chartRun(Ink, 1, []float64{5, 4}, Point{x.held(*f.Mark), top}, Point{x.held(*f.Mark), foot}))
	}
	y := top
	for _, r := range f.Rows {
		if r.Heading {
			s := chartWords(shorten(r.Words, chartText, (w-left-right)/1.07), Point{left, y + 26}, chartText, Start, Ink)
			s.Bold = true
			shapes = append(shapes, s)
			y += forestHeading
			continue
		}
		beside := textWidth(r.Beside, chartText, false)
		shapes = append(shapes, paperBehind(left, y+4, w-left-right, 20),
			chartWords(shorten(r.Words, chartText, w-left-right-beside-12), Point{left, y + 18}, chartText, Start, Ink),
			chartWords(r.Beside, Point{w - right, y + 18}, chartText, End, Ink))
		bar := y + 34
		var dash []float64
		if !r.Said {
			dash = []float64{4, 3}
		}
		if r.From != nil {
			shapes = append(shapes, chartRun(Ink, 6, nil, Point{x.held(*r.From), bar}, Point{x.held(r.Value), bar}))
		}
		a, b := x.held(r.Low), x.held(r.High)
		shapes = append(shapes, chartRun(Ink, 1.5, dash, Point{a, bar}, Point{b, bar}))
		for _, end := range []struct{ at, value float64 }{{a, r.Low}, {b, r.High}} {
			if x.holds(end.value) { // an end that goes on has no stop
				shapes = append(shapes, chartRun(Ink, 1.5, nil, Point{end.at, bar - tickLength}, Point{end.at, bar + tickLength}))
			}
		}
		if r.Said && x.holds(r.Value) {
			shapes = append(shapes, marker(1, Point{x.held(r.Value), bar}, 5))
		}
		y += forestRow
	}
	at := foot + 34
	for _, line := range wrap(f.X.Words, chartText, w-left-right) {
		shapes = append(shapes, chartWords(line, Point{left, at}, chartText, Start, Ink))
		at += chartLine
	}
	return chart(f.Title, f.Desc, w, at, shapes)
}

// paperBehind keeps grid lines out of words.
func paperBehind(x, y, w, h float64) Shape {
	return Shape{Form: Polygon, Role: RoleContext, Fill: Paper, Points: []Point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}}
}
