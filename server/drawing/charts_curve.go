package drawing

import (
	"cmp"
	"math"
	"slices"
	"strconv"
)

// Curves are values by third-octave band: predictions, a measurement, and the reference curve that they are rated by. The
// lines differ by tone, dash and marker, and each has its name at its end.
type Curves struct {
	Title, Desc string
	Words       string // on the scale: R, dB
	Lines       []CurveLine
	Reference   []BandValue // shifted to where the first line is rated; nil: none
	Impact      bool        // low is good: what lies above the reference counts against it
}

// BandValue is the level in a band.
type BandValue struct {
	Hz int
	DB float64
}

// CurveLine is one line.
type CurveLine struct {
	Words   string
	Points  []BandValue
	Tone    Tone
	Dash    []float64
	Markers bool
	Spread  float64 // standard uncertainty, drawn as a band; 0: none
}

// thirdOctaves are the nominal bands in their order.
var thirdOctaves = []int{50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000}

// SVG draws the curves at a width in CSS pixels, 240 or more.
func (c Curves) SVG(width int) []byte {
	w := math.Max(240, float64(width))
	const left, top = 40.0, 14.0
	right := 16.0
	for _, l := range c.named() {
		right = math.Max(right, textWidth(l.words, chartSmall, false)+14)
	}
	beneath := right > w*0.34 // no room beside: the names stand under the chart, each with a piece of its line
	if beneath {
		right = 16
	}
	plot := w - left - right
	height := math.Max(180, math.Min(plot*0.62, 420))
	x := func(hz int) float64 {
		i := slices.Index(thirdOctaves, hz)
		return left + plot*float64(i)/float64(len(thirdOctaves)-1)
	}
	low, high := c.extent()
	y := span{low, high, top + height, top, false}
	shapes := c.grid(x, y, left, plot, top, height, w)
	shapes = append(shapes, c.bands(x, y)...)
	shapes = append(shapes, c.reference(x, y)...)
	for i, l := range c.Lines {
		width := 1.5
		if l.Tone == Accent {
			width = 4 // it still shows where another line runs over it
		}
		for _, run := range l.runs(mostDB) {
			var at []Point
			for _, p := range run {
				at = append(at, Point{x(p.Hz) + p.past*(x(63)-x(50)), y.at(p.DB)})
			}
			shapes = append(shapes, chartRun(l.Tone, width, l.Dash, at...))
		}
		for _, p := range l.Points {
			if l.Markers && p.DB <= mostDB {
				shapes = append(shapes, marker(i, Point{x(p.Hz), y.at(p.DB)}, 3.5))
			}
		}
	}
	at := top + height + 38
	shapes = append(shapes, chartWords("third-octave band, Hz", Point{left + plot, at}, chartSmall, End, Ink), chartWords(c.Words, Point{left + 4, top + 10}, chartSmall, Start, Ink))
	if c.most() > mostDB {
		says, place := "above "+strconv.Itoa(mostDB)+" dB: in the table only", Point{left + plot - 4, top + 10}
		if textWidth(says, chartSmall, false)+textWidth(c.Words, chartSmall, false)+24 > plot { // no room beside the words of the scale
			at += chartLine
			place = Point{left + plot, at}
		}
		shapes = append(shapes, chartWords(says, place, chartSmall, End, Ink))
	}
	if !beneath {
		return chart(c.Title, c.Desc, w, at+6, append(shapes, c.labels(y, left+plot+8)...))
	}
	for _, n := range c.named() {
		at += chartLine
		shapes = append(shapes, chartRun(n.tone, n.width, n.dash, Point{left, at - 4}, Point{left + 28, at - 4}))
		if n.marked >= 0 {
			shapes = append(shapes, marker(n.marked, Point{left + 14, at - 4}, 3.5))
		}
		shapes = append(shapes, chartWords(n.words, Point{left + 36, at}, chartSmall, Start, Ink))
	}
	return chart(c.Title, c.Desc, w, at+8, shapes)
}

// bandRoom is what the name of a band takes on the scale, with the gap beside it.
const bandRoom = 38

// mostDB is the top of the scale. What is calculated beyond it no building reaches, and drawn it would press the part that is rated flat.
const mostDB = 100

// most is the highest value of all lines.
func (c Curves) most() float64 {
	most := math.Inf(-1)
	for _, l := range c.Lines {
		for _, p := range l.Points {
			most = math.Max(most, p.DB)
		}
	}
	return most
}

// runPoint is a point of a line, past is how far it lies after its band, in bands.
type runPoint struct {
	BandValue
	past float64
}

// runs are the parts of a line that lie at most so high, cut where it crosses that.
func (l CurveLine) runs(most float64) [][]runPoint {
	var runs [][]runPoint
	var run []runPoint
	for i, p := range l.Points {
		if i > 0 {
			if was := l.Points[i-1]; (was.DB > most) != (p.DB > most) {
				run = append(run, runPoint{BandValue{was.Hz, most}, (most - was.DB) / (p.DB - was.DB)})
			}
		}
		if p.DB <= most {
			run = append(run, runPoint{p, 0})
		} else if len(run) > 0 {
			runs, run = append(runs, run), nil
		}
	}
	if len(run) > 0 {
		runs = append(runs, run)
	}
	return runs
}

// extent is the scale: whole tens of dB round everything that is drawn.
func (c Curves) extent() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	add := func(v, spread float64) {
		low, high = math.Min(low, v-spread), math.Max(high, math.Min(mostDB, v+spread))
	}
	for _, l := range c.Lines {
		for _, p := range l.Points {
			add(p.DB, l.Spread)
		}
	}
	for _, p := range c.Reference {
		add(p.DB, 0)
	}
	if low > high {
		return 0, 60
	}
	return math.Floor(low/10) * 10, math.Max(math.Floor(low/10)*10+20, math.Ceil(high/10)*10)
}

func (c Curves) grid(x func(int) float64, y span, left, plot, top, height, w float64) []Shape {
	var shapes []Shape
	for db := y.low; db <= y.high; db += 10 {
		shapes = append(shapes, gridLine(Point{left, y.at(db)}, Point{left + plot, y.at(db)}), chartWords(Axis{}.text(db), Point{left - 6, y.at(db) + 4}, chartSmall, End, Ink))
	}
	// Every third band, or every sixth, is named where all of them find no room.
	step := 6
	for _, fewer := range []int{3, 1} {
		if plot*float64(fewer) > 21*bandRoom {
			step = fewer
		}
	}
	for i, hz := range thirdOctaves {
		shapes = append(shapes, chartRun(Ink, 1, nil, Point{x(hz), top + height}, Point{x(hz), top + height + tickLength}))
		if i%step == 1%step {
			shapes = append(shapes, under(strconv.Itoa(hz), Point{x(hz), top + height + 18}, w))
		}
	}
	return append(shapes, chartRun(Ink, 1, nil, Point{left, top}, Point{left, top + height}, Point{left + plot, top + height}))
}

func (c Curves) bands(x func(int) float64, y span) []Shape {
	var shapes []Shape
	for _, l := range c.Lines {
		if l.Spread <= 0 || len(l.Points) < 2 {
			continue
		}
		var edge []Point
		for _, p := range l.Points {
			edge = append(edge, Point{x(p.Hz), y.held(p.DB + l.Spread)})
		}
		for _, p := range slices.Backward(l.Points) {
			edge = append(edge, Point{x(p.Hz), y.held(p.DB - l.Spread)})
		}
		shapes = append(shapes, Shape{Form: Polygon, Role: RoleContext, Points: edge, Fill: Faint})
	}
	return shapes
}

// reference draws the shifted reference curve as a step, and a stroke in each band where the first line falls short of it.
func (c Curves) reference(x func(int) float64, y span) []Shape {
	if len(c.Reference) == 0 {
		return nil
	}
	half := (x(63) - x(50)) / 2
	var run []Point
	for _, p := range c.Reference {
		run = append(run, Point{x(p.Hz) - half, y.held(p.DB)}, Point{x(p.Hz) + half, y.held(p.DB)})
	}
	shapes := []Shape{chartRun(Line, 1, nil, run...)}
	if len(c.Lines) == 0 {
		return shapes
	}
	for _, p := range c.Reference {
		for _, q := range c.Lines[0].Points {
			if q.Hz != p.Hz || (q.DB >= p.DB) != c.Impact {
				continue
			}
			for _, dx := range []float64{-half / 2, 0, half / 2} {
				shapes = append(shapes, chartRun(Line, 0.8, nil, Point{x(p.Hz) + dx, y.held(p.DB)}, Point{x(p.Hz) + dx, y.held(q.DB)}))
			}
		}
	}
	return shapes
}

// curveName is what is written at the end of a line.
type curveName struct {
	words  string
	at     float64 // dB at its end
	tone   Tone
	dash   []float64
	width  float64
	marked int
}

func (c Curves) named() []curveName {
	var names []curveName
	for i, l := range c.Lines {
		if n := len(l.Points); n > 0 {
			name := curveName{l.Words, l.Points[n-1].DB, l.Tone, l.Dash, 2, -1}
			if l.Markers {
				name.marked = i
			}
			names = append(names, name)
		}
	}
	if n := len(c.Reference); n > 0 {
		names = append(names, curveName{"reference", c.Reference[n-1].DB, Line, nil, 1, -1})
	}
	return names
}

// labels writes the names beside the ends of their lines, apart from each other.
func (c Curves) labels(y span, at float64) []Shape {
	names := c.named()
	slices.SortStableFunc(names, func(a, b curveName) int { return cmp.Compare(b.at, a.at) })
	var shapes []Shape
	last := math.Inf(-1)
	for _, n := range names {
		place := math.Max(y.held(n.at)+4, last+chartLine-2)
		last = place
		shapes = append(shapes, chartWords(n.words, Point{at, place}, chartSmall, Start, Ink))
	}
	return shapes
}
