package drawing

import (
	"math"
	"strconv"
	"strings"
)

// Charts are drawn from the same shapes as sections: ink on paper, no colour that has to be told apart, words at the
// things they name. The title says the result and the description its numbers; the page has them in a table beside it.

// Sizes of a chart, in CSS pixels.
const (
	chartText  = 14.0
	chartSmall = 12.0
	chartLine  = 18.0
	tickLength = 5.0
)

// Axis is one scale of a chart. Where Low and High are equal the values decide.
type Axis struct {
	Words     string // what is on it, with its unit: predicted, dB
	Low, High float64
	// Percent writes 0.25 as 25.
	Percent bool
	// Log gives ratios their room: as far from 1/2 to 1 as from 1 to 2. Low and High are then given, above 0.
	Log bool
	// Whole names whole numbers alone, such as years.
	Whole bool
}

// span is an axis laid on the page: from value low at pixel start to value high at pixel end.
type span struct {
	low, high, start, end float64
	log                   bool
}

func (s span) at(v float64) float64 {
	if s.log {
		return span{math.Log(s.low), math.Log(s.high), s.start, s.end, false}.at(math.Log(v))
	}
	if s.high == s.low {
		return (s.start + s.end) / 2
	}
	return s.start + (v-s.low)/(s.high-s.low)*(s.end-s.start)
}

// held keeps a value within the axis: what lies beyond is drawn at its end.
func (s span) held(v float64) float64 { return s.at(math.Max(s.low, math.Min(s.high, v))) }

// lay makes room for the values.
func (a Axis) lay(values []float64, start, end float64) span {
	s := span{a.Low, a.High, start, end, a.Log}
	if s.low != s.high {
		return s
	}
	s.low, s.high = math.Inf(1), math.Inf(-1)
	for _, v := range values {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			s.low, s.high = math.Min(s.low, v), math.Max(s.high, v)
		}
	}
	if s.low > s.high {
		s.low, s.high = 0, 1
	}
	if s.high-s.low < 1e-9 {
		s.low, s.high = s.low-1, s.high+1
	}
	// A little air, so that nothing stands on the frame.
	air := (s.high - s.low) * 0.03
	s.low, s.high = s.low-air, s.high+air
	step := niceStep(s.high-s.low, 5)
	s.low, s.high = math.Floor(s.low/step)*step, math.Ceil(s.high/step)*step
	return s
}

// niceStep is 1, 2 or 5 times a power of ten that divides the range into about n.
func niceStep(width float64, n int) float64 {
	raw := width / float64(n)
	power := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, k := range []float64{1, 2, 5} {
		if raw <= k*power*1.0001 {
			return k * power
		}
	}
	return 10 * power
}

// holds tells whether a value lies on the axis.
func (s span) holds(v float64) bool { return v >= s.low && v <= s.high }

// ticks are the values named on an axis, about most of them.
func (s span) ticks(most int) []float64 {
	var out []float64
	if s.log {
		for _, v := range []float64{0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100} {
			if s.holds(v) {
				out = append(out, v)
			}
		}
		return out
	}
	step := niceStep(s.high-s.low, most)
	for i := math.Ceil(s.low/step - 1e-9); i*step <= s.high+step*1e-9; i++ {
		out = append(out, i*step)
	}
	return out
}

// text writes a value with no more decimals than it needs.
func (a Axis) text(v float64) string {
	if a.Percent {
		v *= 100
	}
	s := strconv.FormatFloat(math.Round(v*1e6)/1e6, 'f', -1, 64)
	if s == "-0" {
		s = "0"
	}
	return strings.Replace(s, "-", "−", 1)
}

func chartWords(text string, at Point, size float64, anchor Anchor, tone Tone) Shape {
	return Shape{Form: Words, Role: RoleLabel, Points: []Point{at}, Text: text, Size: size, Anchor: anchor, Fill: tone}
}

// under writes the number of a tick beneath an axis, moved inward where it would leave a picture of width w.
func under(text string, at Point, w float64) Shape {
	half := textWidth(text, chartSmall, false) / 2
	at.X = math.Max(half, math.Min(w-half, at.X))
	return chartWords(text, at, chartSmall, Middle, Ink)
}

func chartRun(tone Tone, width float64, dash []float64, points ...Point) Shape {
	return Shape{Form: Path, Role: RoleMark, Points: points, Stroke: tone, Width: width, Dash: dash}
}

func gridLine(a, b Point) Shape {
	return Shape{Form: Path, Role: RoleScale, Points: []Point{a, b}, Stroke: Line, Width: 0.4}
}

// chart finishes a picture.
func chart(title, desc string, width, height float64, shapes []Shape) []byte {
	return picture{width: width, height: height, shapes: shapes, title: title, desc: desc, class: "chart"}.svg()
}

// marker draws one of eight signs that differ in shape, four filled and four open, told apart without colour.
func marker(kind int, at Point, r float64) Shape {
	s := Shape{Role: RoleMark, Stroke: Ink, Width: 1.5, Fill: Ink}
	if kind%8 >= 4 {
		s.Fill = Paper
	}
	corners := func(xy ...float64) []Point {
		var out []Point
		for i := 0; i+1 < len(xy); i += 2 {
			out = append(out, Point{at.X + xy[i]*r, at.Y + xy[i+1]*r})
		}
		return out
	}
	s.Form = Polygon
	switch kind % 4 {
	case 0:
		s.Form, s.Points, s.Radius = Circle, []Point{at}, r
	case 1:
		s.Points = corners(-0.9, -0.9, 0.9, -0.9, 0.9, 0.9, -0.9, 0.9)
	case 2:
		s.Points = corners(0, -1.2, 1.1, 0.8, -1.1, 0.8)
	default:
		s.Points = corners(0, -1.3, 1.3, 0, 0, 1.3, -1.3, 0)
	}
	return s
}
