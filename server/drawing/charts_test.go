package drawing

import (
	"encoding/xml"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// svgWriter is any chart.
type svgWriter interface{ SVG(width int) []byte }

func charts() map[string]svgWriter {
	two := 2.0
	one, whole := 1.0, 54.0
	many := Dots{Title: "Measured 0.6 dB above predicted", Desc: "n = 7", X: Axis{Words: "predicted, dB"}, Y: Axis{Words: "measured, dB"}, Square: true,
		Lines: []Stretch{{A: Point{-1000, -1000}, B: Point{1000, 1000}}, {A: Point{46, 45.1}, B: Point{46, 48.1}, Thick: true}}}
	for i := range 9 {
		many.Names = append(many.Names, "C-clip-"+strconv.Itoa(i)+"m-joists, a long name that does not fit on a phone at all")
		p := float64(42 + i)
		many.Points = append(many.Points, Dot{X: p, Y: p + math.Sin(float64(i)), XLow: p - 4, XHigh: p + 4, WhiskX: true, Marker: i, Hollow: i%2 == 0})
	}
	return map[string]svgWriter{
		"dots":        many,
		"curve":       Curves{Title: "Predicted Rw 41 dB ± 4", Desc: "by band", Words: "R, dB", Reference: []BandValue{{100, 22}, {500, 41}, {3150, 45}}, Lines: []CurveLine{{Words: "as specified", Tone: Accent, Spread: 4, Points: []BandValue{{50, 21}, {100, 20}, {500, 44}, {5000, 60}}}, {Words: "measured", Tone: Ink, Markers: true, Points: []BandValue{{100, 19}, {500, 40}}}}},
		"curve-none":  Curves{Title: "Nothing predicted", Desc: "no values", Words: "R, dB"},
		"dots-none":   Dots{Title: "Nothing measured yet", Desc: "n = 0"},
		"dots-one":    Dots{Title: "one", Desc: "n = 1", Points: []Dot{{X: 45, Y: 45}}},
		"dots-wild":   Dots{Title: "wild", Desc: "wild", Points: []Dot{{X: math.NaN(), Y: math.Inf(1)}, {X: 160, Y: -20}}},
		"forest":      Forest{Title: "Complaints in 3 of 40 jobs", Desc: "7.5 %", X: Axis{Words: "share of jobs with a complaint, %, with 95 % interval", Percent: true, Low: 0, High: 1}, Mark: &one, Rows: []ForestRow{{Words: "by margin", Heading: true}, {Words: "C-clip-2m-joists, ceiling on clips, 2 boards with a membrane", Value: 0.075, Said: true, Low: 0.026, High: 0.199, Beside: "3 of 40"}, {Words: "few", Low: 0.004, High: 0.58, Beside: "1 of 4, too few to say"}}},
		"forest-bars": Forest{Title: "Rw 54 dB without a fault", Desc: "two bars", X: Axis{Words: "Rw, dB"}, Rows: []ForestRow{{Words: "W1, layer 4 Last perimeter sealed", Value: 51.5, Said: true, Low: 50.8, High: 52.2, From: &whole, Beside: "−2.5 ± 0.7 dB"}, {Words: "W1, layer 2 Screw length", Value: 53.9, Said: true, Low: 53.4, High: 54.4, From: &whole, Beside: "−0.1 ± 0.5 dB"}}},
		"forest-or":   Forest{Title: "odds", Desc: "odds", X: Axis{Words: "odds ratio", Low: 0.1, High: 10, Log: true}, Mark: &two, Rows: []ForestRow{{Words: "one more", Value: 9, Said: true, Low: 0.4, High: 90, Beside: "× 9"}}},
		"steps":       Steps{Title: "76 % free after 12 months", Desc: "n = 21", X: Axis{Words: "months after the work"}, Last: 35, Lost: []float64{6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35}, Falls: []Fall{{6, 0.857, 0.62, 0.952}, {7, 0.807, 0.563, 0.923}, {10, 0.753, 0.503, 0.889}, {13, 0.690, 0.432, 0.849}, {16, 0.627, 0.368, 0.805}, {22, 0.538, 0.268, 0.747}, {23, 0.448, 0.188, 0.680}}, Followed: []StillFollowed{{0, 21}, {1, 21}, {3, 21}, {12, 12}}},
		"steps-none":  Steps{Title: "nobody followed", Desc: "n = 0", X: Axis{Words: "months after the work"}},
	}
}

// Every chart is one picture with title and description, without styles, its words inside its edges at any width, and not
// a number in it that is none.
func TestCharts(t *testing.T) {
	for name, c := range charts() {
		for _, width := range []int{240, 320, 720} {
			out := c.SVG(width)
			elements := parse(t, out)
			if elements[0].Name.Local != "svg" || elements[1].Name.Local != "title" || elements[2].Name.Local != "desc" || attr(elements[0], "role") != "img" {
				t.Errorf("%s does not begin as a picture with title and description", name)
			}
			if s := string(out); strings.Contains(s, "NaN") || strings.Contains(s, "Inf") || strings.Contains(s, "style=") {
				t.Errorf("%s holds NaN, Inf or a style", name)
			}
			for _, e := range elements {
				if e.Name.Local != "text" {
					continue
				}
				if x, err := strconv.ParseFloat(attr(e, "x"), 64); err != nil || x < 0 || x > float64(width) {
					t.Errorf("%s at %d: words at %v (%v)", name, width, x, err)
				}
			}
			for _, w := range wordsOf(t, out) {
				if w.from < -1 || w.to > float64(width)+1 {
					t.Errorf("%s at %d: %q runs from %.0f to %.0f", name, width, w.text, w.from, w.to)
				}
			}
			if dir := os.Getenv("CHARTS"); dir != "" {
				if err := os.WriteFile(filepath.Join(dir, name+"-"+strconv.Itoa(width)+".svg"), out, 0o644); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}

type placedWords struct {
	text     string
	from, to float64
}

// wordsOf gives the words of a picture with where they begin and end, by the narrower measure of paper's font.
func wordsOf(t *testing.T, picture []byte) []placedWords {
	t.Helper()
	var v struct {
		Text []struct {
			X      float64 `xml:"x,attr"`
			Size   float64 `xml:"font-size,attr"`
			Anchor string  `xml:"text-anchor,attr"`
			Words  string  `xml:",chardata"`
		} `xml:"text"`
	}
	if err := xml.Unmarshal(picture, &v); err != nil {
		t.Fatal(err)
	}
	var out []placedWords
	for _, w := range v.Text {
		wide := textWidth(w.Words, w.Size, false) / slack
		from := map[string]float64{"": w.X, "middle": w.X - wide/2, "end": w.X - wide}[w.Anchor]
		out = append(out, placedWords{w.Words, from, from + wide})
	}
	return out
}

// Values stand where the axis says. Source: arithmetic.
func TestChartScale(t *testing.T) {
	s := span{0, 1, 50, 250, false}
	if s.at(0.25) != 100 || s.held(7) != 250 || s.held(-1) != 50 {
		t.Error("a value is not where it belongs")
	}
	if l := (span{0.1, 10, 0, 200, true}); math.Abs(l.at(1)-100) > 1e-9 || math.Abs(l.held(900)-200) > 1e-9 {
		t.Error("1 is not in the middle of 0.1 to 10")
	}
	for width, want := range map[float64]float64{10: 2, 1: 0.2, 4: 1, 0.03: 0.01, 1200: 500} {
		if got := niceStep(width, 5); math.Abs(got-want) > 1e-12 {
			t.Errorf("%v in five: steps of %v, want %v", width, got, want)
		}
	}
	a := Axis{Percent: true}
	if a.text(0.25) != "25" || (Axis{}).text(-0.0000001) != "0" || (Axis{}).text(0.1+0.2) != "0.3" || (Axis{}).text(-3) != "−3" {
		t.Error("numbers on axes")
	}
}

// Markers differ without colour.
func TestMarkersDiffer(t *testing.T) {
	seen := map[string]int{}
	for i := range 8 {
		p := string(chart("t", "d", 20, 20, []Shape{marker(i, Point{10, 10}, 4)}))
		if other, ok := seen[p]; ok {
			t.Errorf("markers %d and %d look alike", other, i)
		}
		seen[p] = i
	}
}

// On a phone nothing that is written on the chart lies over something else that is.
func TestCurvesKeepTheirWordsApart(t *testing.T) {
	words := regexp.MustCompile(`<text x="([^"]+)" y="([^"]+)"([^>]*)>([^<]+)<`)
	c := Curves{Title: "t", Desc: "d", Words: "R, dB", Lines: []CurveLine{{Words: "as specified", Points: []BandValue{{Hz: 50, DB: 30}, {Hz: 2500, DB: 80}, {Hz: 3150, DB: 120}}}}}
	for _, width := range []int{240, 288, 328, 560, 1000} {
		type box struct {
			says             string
			left, right, top float64
		}
		var boxes []box
		for _, m := range words.FindAllStringSubmatch(string(c.SVG(width)), -1) {
			x, errX := strconv.ParseFloat(m[1], 64)
			y, errY := strconv.ParseFloat(m[2], 64)
			if errX != nil || errY != nil {
				t.Fatalf("%q: %v, %v", m[0], errX, errY)
			}
			// A system's font may be wider than the one that the drawing reckons with.
			long := 1.15 * textWidth(m[4], chartSmall, false)
			from := 0.0
			switch {
			case strings.Contains(m[3], `"middle"`):
				from = long / 2
			case strings.Contains(m[3], `"end"`):
				from = long
			}
			boxes = append(boxes, box{m[4], x - from, x - from + long, y})
		}
		if len(boxes) < 8 {
			t.Fatalf("at %d px %d words are found", width, len(boxes))
		}
		for i, a := range boxes {
			for _, b := range boxes[:i] {
				if math.Abs(a.top-b.top) < chartSmall && a.left < b.right && b.left < a.right {
					t.Errorf("at %d px %q lies over %q", width, a.says, b.says)
				}
			}
		}
	}
}

// What is calculated beyond what any building reaches does not press the rated part flat: the scale ends, the line is cut where it leaves it, and
// the chart says so.
func TestCurvesEndAtWhatIsReached(t *testing.T) {
	line := func(last float64) Curves {
		return Curves{Title: "t", Desc: "d", Words: "R, dB", Lines: []CurveLine{{Words: "as specified", Points: []BandValue{{Hz: 2000, DB: 60}, {Hz: 2500, DB: 80}, {Hz: 3150, DB: last}, {Hz: 4000, DB: 90}}}}}
	}
	const says = "above 100 dB: in the table only"
	high, low := string(line(120).SVG(600)), string(line(95).SVG(600))
	if !strings.Contains(high, says) || strings.Contains(low, says) {
		t.Error("it is said where it is not so, or not where it is")
	}
	for _, svg := range []string{high, low} {
		if !strings.Contains(svg, ">100<") || strings.Contains(svg, ">110<") {
			t.Error("the scale does not end at 100 dB")
		}
	}
	// One line over the top is two pieces, before and after.
	if more := strings.Count(high, "<polyline") + strings.Count(high, "<path") - strings.Count(low, "<polyline") - strings.Count(low, "<path"); more != 1 {
		t.Errorf("%d more pieces than the line that stays below", more)
	}
}
