package drawing

import (
	"math"
	"strconv"
)

// Steps is a share that falls in steps over time, with its limits, small strokes where units were lost from sight, and how
// many were still followed.
type Steps struct {
	Title, Desc string
	X           Axis
	Falls       []Fall // by time
	Lost        []float64
	Last        float64 // the curve ends here: nobody was followed further
	Followed    []StillFollowed
}

// Fall is where the share falls to Share.
type Fall struct{ At, Share, Low, High float64 }

// StillFollowed is how many were followed at a time.
type StillFollowed struct {
	At float64
	N  int
}

// SVG draws the curve at a width in CSS pixels, 240 or more.
func (s Steps) SVG(width int) []byte {
	w := math.Max(240, float64(width))
	const left, right, top = 52.0, 16.0, 12.0
	plot := w - left - right
	height := math.Min(plot*0.6, 280)
	axis := s.X
	if axis.Low == axis.High {
		axis.Low, axis.High = 0, math.Max(1, s.Last)
	}
	x, y := axis.lay(nil, left, left+plot), span{0, 1, top + height, top, false}
	share := Axis{Percent: true}
	var shapes []Shape
	for _, v := range []float64{0, 0.25, 0.5, 0.75, 1} {
		shapes = append(shapes, gridLine(Point{left, y.at(v)}, Point{left + plot, y.at(v)}), chartWords(share.text(v)+" %", Point{left - 6, y.at(v) + 4}, chartSmall, End, Ink))
	}
	for _, v := range x.ticks(int(math.Max(2, plot/48))) {
		shapes = append(shapes, chartRun(Ink, 1, nil, Point{x.at(v), top + height}, Point{x.at(v), top + height + tickLength}),
			under(axis.text(v), Point{x.at(v), top + height + 18}, w))
	}
	shapes = append(shapes, chartRun(Ink, 1, nil, Point{left, top}, Point{left, top + height}, Point{left + plot, top + height}))
	dash := []float64{4, 3}
	for _, l := range []struct {
		of   func(Fall) float64
		dash []float64
		w    float64
		tone Tone
	}{{func(f Fall) float64 { return f.Low }, dash, 1, Line}, {func(f Fall) float64 { return f.High }, dash, 1, Line}, {func(f Fall) float64 { return f.Share }, nil, 2, Ink}} {
		shapes = append(shapes, chartRun(l.tone, l.w, l.dash, s.run(x, y, l.of)...))
	}
	for _, t := range s.Lost {
		at := y.at(s.at(t))
		shapes = append(shapes, chartRun(Ink, 1, nil, Point{x.held(t), at - 4}, Point{x.held(t), at + 4}))
	}
	at := top + height + 38
	shapes = append(shapes, chartWords(s.X.Words, Point{left + plot, at}, chartText, End, Ink))
	at += chartLine + 2
	if len(s.Followed) > 0 {
		shapes = append(shapes, chartWords("Still followed:", Point{8, at}, chartText, Start, Ink))
		at += chartLine
		end := -math.MaxFloat64
		for _, f := range s.Followed {
			words, place := strconv.Itoa(f.N), x.held(f.At)
			half := textWidth(words, chartSmall, false) / 2
			if place-half < end+6 {
				continue // no room: the table has it
			}
			end = place + half
			shapes = append(shapes, chartWords(words, Point{place, at}, chartSmall, Middle, Ink))
		}
		at += chartLine
	}
	return chart(s.Title, s.Desc, w, at, shapes)
}

// run is the line of steps from the start to the last time followed.
func (s Steps) run(x, y span, of func(Fall) float64) []Point {
	level := 1.0
	points := []Point{{x.at(x.low), y.at(level)}}
	for _, f := range s.Falls {
		points = append(points, Point{x.held(f.At), y.at(level)})
		level = math.Max(0, math.Min(1, of(f)))
		points = append(points, Point{x.held(f.At), y.at(level)})
	}
	return append(points, Point{x.held(s.Last), y.at(level)})
}

// at is the share at a time.
func (s Steps) at(t float64) float64 {
	share := 1.0
	for _, f := range s.Falls {
		if f.At <= t {
			share = f.Share
		}
	}
	return share
}
