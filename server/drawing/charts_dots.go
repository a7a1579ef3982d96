package drawing

import "math"

// Dots are values against values: measured against predicted, differences over time, what was given against what happened.
type Dots struct {
	Title, Desc string
	X, Y        Axis
	Points      []Dot
	// Lines are in the units of the axes: the diagonal, the zero line, a drift.
	Lines []Stretch
	// Names are the words of the markers, by number; shown under the chart where there is more than one.
	Names []string
	// Square gives both axes one scale and one length.
	Square bool
}

// Dot is one value with its whiskers; an empty whisker has equal ends.
type Dot struct {
	X, Y            float64
	XLow, XHigh     float64
	YLow, YHigh     float64
	WhiskX, WhiskY  bool
	Marker          int
	Hollow, Quieter bool // Quieter: as a thin ring, for what counts less
}

// Stretch is a straight line between two places in the units of the axes. A Thick one is an interval.
type Stretch struct {
	A, B   Point
	Dashed bool
	Thick  bool
}

// SVG draws the chart at a width in CSS pixels, 240 or more.
func (d Dots) SVG(width int) []byte {
	w := math.Max(240, float64(width))
	const left, right, top = 52.0, 14.0, 12.0
	plot := w - left - right
	height := math.Min(plot, 420)
	if !d.Square {
		height = math.Min(plot*0.7, 300)
	} else {
		plot = height
	}
	xs, ys := d.values()
	if d.Square {
		both := append(append([]float64{}, xs...), ys...)
		xs, ys = both, both
	}
	x, y := d.X.lay(xs, left, left+plot), d.Y.lay(ys, top+height, top)
	var shapes []Shape
	for _, v := range x.ticks(int(math.Max(2, plot/60))) {
		if d.X.Whole && v != math.Round(v) {
			continue
		}
		shapes = append(shapes, gridLine(Point{x.at(v), top}, Point{x.at(v), top + height}),
			under(d.X.text(v), Point{x.at(v), top + height + 16}, w))
	}
	for _, v := range y.ticks(int(math.Max(2, height/44))) {
		shapes = append(shapes, gridLine(Point{left, y.at(v)}, Point{left + plot, y.at(v)}),
			chartWords(d.Y.text(v), Point{left - 6, y.at(v) + 4}, chartSmall, End, Ink))
	}
	shapes = append(shapes, chartRun(Ink, 1, nil, Point{left, top}, Point{left, top + height}, Point{left + plot, top + height}))
	for _, l := range d.Lines {
		if s, ok := l.shape(x, y); ok {
			shapes = append(shapes, s)
		}
	}
	for _, p := range d.Points {
		shapes = append(shapes, p.shapes(x, y)...)
	}
	for _, l := range d.Lines {
		if l.Thick {
			shapes = append(shapes, chartRun(Ink, 4, nil, Point{x.held(l.A.X), y.held(l.A.Y)}, Point{x.held(l.B.X), y.held(l.B.Y)}))
		}
	}
	shapes = append(shapes, chartWords(d.X.Words, Point{left + plot, top + height + 34}, chartText, End, Ink))
	at := top + height + 34 + chartLine
	for _, line := range wrap("Upward: "+d.Y.Words, chartText, w-16) {
		shapes = append(shapes, chartWords(line, Point{8, at}, chartText, Start, Ink))
		at += chartLine
	}
	if len(d.Names) > 1 {
		for i, name := range d.Names {
			shapes = append(shapes, marker(i, Point{16, at - 4}, 4), chartWords(shorten(name, chartText, w-40), Point{30, at}, chartText, Start, Ink))
			at += chartLine
		}
	}
	return chart(d.Title, d.Desc, w, at, shapes)
}

// values are all that the axes must hold.
func (d Dots) values() (xs, ys []float64) {
	for _, p := range d.Points {
		xs, ys = append(xs, p.X), append(ys, p.Y)
		if p.WhiskX {
			xs = append(xs, p.XLow, p.XHigh)
		}
		if p.WhiskY {
			ys = append(ys, p.YLow, p.YHigh)
		}
	}
	for _, l := range d.Lines {
		if l.Thick {
			ys = append(ys, l.A.Y, l.B.Y)
		}
	}
	return xs, ys
}

func (p Dot) shapes(x, y span) []Shape {
	at := Point{x.held(p.X), y.held(p.Y)}
	var out []Shape
	if p.WhiskX {
		out = append(out, chartRun(Line, 1, nil, Point{x.held(p.XLow), at.Y}, Point{x.held(p.XHigh), at.Y}))
	}
	if p.WhiskY {
		out = append(out, chartRun(Line, 1, nil, Point{at.X, y.held(p.YLow)}, Point{at.X, y.held(p.YHigh)}))
	}
	m := marker(p.Marker, at, 4)
	if p.Hollow {
		m.Fill = Paper
	}
	if p.Quieter {
		m.Width = 0.8
	}
	return append(out, m)
}

// shape clips the line to the plot; thick ones are drawn later, on top.
func (l Stretch) shape(x, y span) (Shape, bool) {
	if l.Thick {
		return Shape{}, false
	}
	// Parts of the line from A to B inside both axes.
	from, to := 0.0, 1.0
	for _, c := range [][4]float64{{l.A.X, l.B.X, x.low, x.high}, {l.A.Y, l.B.Y, y.low, y.high}} {
		a, b, low, high := c[0], c[1], c[2], c[3]
		if a == b {
			if a < low || a > high {
				return Shape{}, false
			}
			continue
		}
		p, q := (low-a)/(b-a), (high-a)/(b-a)
		from, to = math.Max(from, math.Min(p, q)), math.Min(to, math.Max(p, q))
	}
	if from >= to {
		return Shape{}, false
	}
	place := func(f float64) Point {
		return Point{x.at(l.A.X + f*(l.B.X-l.A.X)), y.at(l.A.Y + f*(l.B.Y-l.A.Y))}
	}
	var dash []float64
	if l.Dashed {
		dash = []float64{5, 4}
	}
	return chartRun(Ink, 1, dash, place(from), place(to)), true
}
