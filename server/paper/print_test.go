package paper

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	_ "image/png" // pages come back as pictures
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"tacet/server/drawing"
)

// dpi is how finely pages are looked at.
const dpi = 150

// poppler finds the tool that looks at pages; without it there is nothing to look with.
func poppler(t *testing.T, tool string) string {
	t.Helper()
	path, err := exec.LookPath(tool)
	if err == nil {
		return path
	}
	if os.Getenv("CI") == "true" {
		t.Fatalf("%s is missing: install poppler-utils", tool)
	}
	t.Skipf("%s is missing: install poppler-utils to look at the pages", tool)
	return ""
}

// pdf prints the sheets into a file.
func pdf(t *testing.T, sheets ...Sheet) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, sheets); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "sheets.pdf")
	if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return file
}

// pages are the pictures of a PDF's pages.
func pages(t *testing.T, file string) []image.Image {
	t.Helper()
	tool := poppler(t, "pdftoppm")
	dir := t.TempDir()
	if out, err := exec.Command(tool, "-r", strconv.Itoa(dpi), "-png", file, filepath.Join(dir, "page")).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	names, err := filepath.Glob(filepath.Join(dir, "page*.png"))
	if err != nil {
		t.Fatal(err)
	}
	var out []image.Image
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		picture, _, err := image.Decode(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, picture)
	}
	return out
}

// text is what can be read from the PDF, blanks and line ends as single spaces.
func text(t *testing.T, file string) string {
	t.Helper()
	out, err := exec.Command(poppler(t, "pdftotext"), "-raw", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(strings.Fields(string(out)), " ")
}

// word is one word on a page, in points from the upper left.
type word struct {
	XMin float64 `xml:"xMin,attr"`
	YMin float64 `xml:"yMin,attr"`
	XMax float64 `xml:"xMax,attr"`
	YMax float64 `xml:"yMax,attr"`
	Text string  `xml:",chardata"`
}

func words(t *testing.T, file string) [][]word {
	t.Helper()
	out, err := exec.Command(poppler(t, "pdftotext"), "-bbox", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	var document struct {
		Pages []struct {
			Words []word `xml:"word"`
		} `xml:"body>doc>page"`
	}
	if err := xml.Unmarshal(out, &document); err != nil {
		t.Fatal(err)
	}
	var pages [][]word
	for _, p := range document.Pages {
		pages = append(pages, p.Words)
	}
	return pages
}

func TestEveryWordGivenIsPrinted(t *testing.T) {
	for _, s := range []Sheet{ceilingSheet(), fullSheet()} {
		got := text(t, pdf(t, s))
		want := []string{s.Firm, s.Job, s.Site, s.Room, s.Surface, s.Name, s.Size, s.Code, s.Version, s.Target, s.Prediction, s.Note, s.Totals.LoadNote,
			"25 November 2026, 08:30 UTC"}
		want = append(want, s.Cautions...)
		for _, l := range s.Layers {
			want = append(want, l.What, number(l.ThicknessMM), number(l.MassKgM2), l.State)
			if l.Screw != nil {
				want = append(want, fmt.Sprintf("Screw, %s to %s mm", number(l.Screw.MinMM), number(l.Screw.MaxMM)))
			}
		}
		for _, c := range s.Checks {
			want = append(want, c.Code, strings.TrimSpace(c.Criterion), c.Measure, c.Photo)
		}
		for _, e := range s.Section.Existing {
			want = append(want, e.Name)
		}
		for _, w := range want {
			if w != "" && !strings.Contains(squeeze(got), squeeze(w)) {
				t.Errorf("%s: %q is not on the sheet", s.Surface, w)
			}
		}
	}
}

// squeeze takes the blanks out: where a line ends is the page's business.
func squeeze(s string) string {
	return strings.NewReplacer(" ", "", "\u2212", "-", "\u00ad", "-", "\u2010", "-").Replace(s)
}

// No word is cut off by the margin, and no word lies on another.
func TestWordsStandFree(t *testing.T) {
	standFree(t, pdf(t, ceilingSheet(), fullSheet(), bareSheet(), strangeSheet()))
}

func standFree(t *testing.T, file string) {
	t.Helper()
	const point = 25.4 / 72
	for i, page := range words(t, file) {
		for j, a := range page {
			if a.XMin*point < margin-0.5 || a.XMax*point > pageWidth-margin+0.5 || a.YMax*point > pageHeight-margin+1 {
				t.Errorf("page %d: %q lies in the margin, from %.1f to %.1f mm", i+1, a.Text, a.XMin*point, a.XMax*point)
			}
			for _, b := range page[:j] {
				wide := math.Min(a.XMax, b.XMax) - math.Max(a.XMin, b.XMin)
				// The boxes are as high as the font's tallest letters, so lines set solid touch: half a line is a real overlap.
				high := math.Min(a.YMax, b.YMax) - math.Max(a.YMin, b.YMin)
				if wide > 0.5 && high > 0.5*math.Min(a.YMax-a.YMin, b.YMax-b.YMin) {
					t.Errorf("page %d: %q lies on %q", i+1, a.Text, b.Text)
				}
			}
		}
	}
}

// strangeSheet has what people paste: letters the font lacks, no blanks, line ends.
func strangeSheet() Sheet {
	s := ceilingSheet()
	s.Surface, s.Name = "KELLERDECKE-OST-17", strings.Repeat("Zwischenwandvorsatzschale", 4)
	s.Site, s.Note = "天井 🎉 \x00\x07 m′ ≥ 25 kg/m², ΔL ≤ 3 dB, łódź", "line one\nline two\ttab"
	s.Layers[0].What = strings.Repeat("W", 60)
	s.Checks[0].Criterion = strings.Repeat("unbroken", 40)
	s.Totals = Totals{MassKgM2: math.NaN(), ThicknessMM: math.Inf(1)}
	s.Section.Existing[0].ThicknessMM = math.NaN()
	s.Section.Layers[1].ThicknessMM = math.Inf(1)
	s.Layers[2].Screw = &Screw{MinMM: 70, MaxMM: 82}
	s.Layers[4].Screw = &Screw{MinMM: math.NaN(), MaxMM: math.Inf(1), StockMM: -3}
	return s
}

func TestPagesAreNumberedBySurface(t *testing.T) {
	got := text(t, pdf(t, ceilingSheet(), fullSheet(), bareSheet()))
	totals := map[string]int{}
	for _, m := range regexp.MustCompile(`(C1|W12|W2) page (\d+) of (\d+)`).FindAllStringSubmatch(got, -1) {
		totals[m[1]]++
		if m[2] != strconv.Itoa(totals[m[1]]) {
			t.Errorf("%s: page %s comes as number %d", m[1], m[2], totals[m[1]])
		}
		if n, err := strconv.Atoi(m[3]); err != nil || n < totals[m[1]] {
			t.Errorf("%s: page %s of %s", m[1], m[2], m[3])
		}
	}
	if totals["C1"] != 2 || totals["W12"] < 4 || totals["W2"] != 1 {
		t.Errorf("pages counted: %v", totals)
	}
	// Twelve layers and thirty checks run over several pages, each with its heading and the readable code.
	if n := strings.Count(got, "ZZZZ-0000-1111-Q"); n != totals["W12"] {
		t.Errorf("the readable code stands on %d of %d pages", n, totals["W12"])
	}
	if n := strings.Count(got, "accept when"); n < 4 {
		t.Errorf("the heading of the checks stands on %d pages", n)
	}
}

func TestSameSheetsSameBytes(t *testing.T) {
	var a, b bytes.Buffer
	for _, w := range []*bytes.Buffer{&a, &b} {
		if err := Write(w, []Sheet{ceilingSheet(), fullSheet()}); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("the same sheets gave different bytes")
	}
	later := ceilingSheet()
	later.Printed = later.Printed.AddDate(0, 0, 1)
	var c, d bytes.Buffer
	if err := Write(&c, []Sheet{ceilingSheet()}); err != nil {
		t.Fatal(err)
	}
	if err := Write(&d, []Sheet{later}); err != nil {
		t.Fatal(err)
	}
	if bytes.Equal(c.Bytes(), d.Bytes()) {
		t.Error("the time of print is not in the bytes")
	}
}

// A sheet is black on white, and nothing is printed in the margins.
func TestPagesAreBlackWithinTheMargins(t *testing.T) {
	mm := dpi / 25.4
	for i, page := range pages(t, pdf(t, ceilingSheet(), fullSheet(), bareSheet(), strangeSheet())) {
		b := page.Bounds()
		if w, h := float64(b.Dx())/mm, float64(b.Dy())/mm; math.Abs(w-210) > 0.5 || math.Abs(h-297) > 0.5 {
			t.Fatalf("page %d measures %.1f x %.1f mm, not A4", i+1, w, h)
		}
		edge := int((margin - 0.7) * mm)
		inked := 0
		for y := b.Min.Y; y < b.Max.Y; y++ {
			for x := b.Min.X; x < b.Max.X; x++ {
				c := color.NRGBAModel.Convert(page.At(x, y)).(color.NRGBA)
				if c.R != c.G || c.G != c.B {
					t.Fatalf("page %d has a coloured point %v at %d, %d", i+1, c, x, y)
				}
				if c.R > 200 {
					continue
				}
				inked++
				if x < edge || y < edge || x >= b.Max.X-edge || y >= b.Max.Y-edge {
					t.Fatalf("page %d: ink in the margin, %.1f mm from the left and %.1f from the top", i+1, float64(x)/mm, float64(y)/mm)
				}
			}
		}
		if inked == 0 {
			t.Errorf("page %d is empty", i+1)
		}
	}
}

// The ruler is true to size: the marks for 25 and 60 mm screws lie 35 mm apart (arithmetic).
func TestRulerIsTrueToSize(t *testing.T) {
	page := words(t, pdf(t, ceilingSheet()))[0]
	var at25, at60 []float64
	for _, w := range page {
		middle := (w.XMin + w.XMax) / 2 * 25.4 / 72
		switch {
		case w.Text == "25" && middle > 80:
			at25 = append(at25, middle)
		case w.Text == "60" && middle > 80:
			at60 = append(at60, middle)
		}
	}
	if len(at25) != 2 || len(at60) != 2 {
		t.Fatalf("expected two rulers, found the 25 at %v and the 60 at %v", at25, at60)
	}
	for i := range at25 {
		if d := at60[i] - at25[i]; math.Abs(d-35) > 0.1 {
			t.Errorf("25 and 60 lie %.2f mm apart", d)
		}
	}
}

// The surface's code is 24 mm high, measured on the page.
func TestSurfaceCodeIsHigh(t *testing.T) {
	mm := dpi / 25.4
	page := pages(t, pdf(t, ceilingSheet()))[0]
	top, low := math.Inf(1), 0.0
	for y := 0; y < int(40*mm); y++ {
		for x := int(margin * mm); x < int(50*mm); x++ {
			if r, _, _, _ := page.At(x, y).RGBA(); r < 0x4000 {
				top, low = math.Min(top, float64(y)/mm), math.Max(low, float64(y)/mm)
			}
		}
	}
	if high := low - top; high < 23.5 || high > 26 {
		t.Errorf("the code is %.1f mm high", high)
	}
}

func TestNoSurfaceIsSaid(t *testing.T) {
	if got := text(t, pdf(t)); !strings.Contains(got, "no surface") {
		t.Errorf("an empty list prints %q", got)
	}
}

func TestEveryKindOfSurfaceIsPrinted(t *testing.T) {
	for _, kind := range []drawing.Kind{drawing.Wall, drawing.Ceiling, drawing.Floor, drawing.Soffit, drawing.Boxing, drawing.PipeRun, drawing.Beam} {
		s := ceilingSheet()
		s.Section.Kind = kind
		if got := text(t, pdf(t, s)); !strings.Contains(got, "covered unseen") {
			t.Errorf("%s: the state is not said", kind)
		}
	}
}

// A number stays with its unit, and a space that does not break does not.
func TestWrapKeepsUnitsWithTheirNumber(t *testing.T) {
	f := newForm(printed)
	for text, want := range map[string]string{
		"Limp loaded polymer membrane 2.5 mm":      "Limp loaded polymer membrane|2.5 mm",
		"Limp loaded polymer membrane 2.5\u202fmm": "Limp loaded polymer membrane|2.5\u00a0mm",
		"Clip and channel 25 mm at 400 mm centres": "Clip and channel 25 mm at 400 mm|centres",
	} {
		if got := strings.Join(f.wrap("", plainType, layerColumns[1].wide-2.4, text), "|"); got != want {
			t.Errorf("%q breaks as %q, want %q", text, got, want)
		}
	}
}
