package pages_test

import (
	"encoding/xml"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
)

// svgOf is what a test reads of a picture.
type svgOf struct {
	Title string `xml:"title"`
	Desc  string `xml:"desc"`
}

var (
	colourOf = regexp.MustCompile(`(?:fill|stroke)="#([0-9a-f]{6})"`)
	runOf    = regexp.MustCompile(`<(?:path|polyline)[^>]*class="edge-(?:ink|accent)"[^>]*>`)
	dashOf   = regexp.MustCompile(`stroke-dasharray="([^"]*)"`)
	hasDigit = regexp.MustCompile(`[0-9]`)
)

// Every kind of picture says its result to whoever can't see it, has its numbers as text on the same page, and is read in grey.
func TestPicturesSayTheirResult(t *testing.T) {
	w := office(t)
	yearOfWalls(t, w, 12)
	w.As(pagestest.Maren, jobs.Supervisor)
	kinds := map[string]int{}
	for _, path := range []string{c1, c1 + "/specify", c1 + "/prediction", lantern + "/s/W1", lantern + "/s/W1/prediction", "/outcomes", "/outcomes/" + wallFamily} {
		main := page(t, w, path).one(t, "main")
		rows := len(main.all("td")) + len(main.all("li"))
		for _, img := range main.all("img") {
			if img.attr["class"] != "" { // the small sections of lists stand beside their words, the legend is words
				continue
			}
			r := get(t, w, img.attr["src"])
			if !strings.HasPrefix(r.header.Get("Content-Type"), "image/svg+xml") {
				continue
			}
			kind := kindOfPicture(img.attr["src"])
			kinds[kind]++
			var p svgOf
			if err := xml.Unmarshal([]byte(r.body), &p); err != nil {
				t.Fatalf("%s: %s: %v", path, kind, err)
			}
			if p.Title == "" || p.Desc == "" || !hasDigit.MatchString(p.Title+p.Desc) {
				t.Errorf("%s: %s says no result: title %q, description %q", path, kind, p.Title, p.Desc)
			}
			if alt := img.attr["alt"]; !hasDigit.MatchString(alt) {
				t.Errorf("%s: %s says no result in the page: %q", path, kind, alt)
			}
			if rows == 0 {
				t.Errorf("%s: %s has no numbers beside it", path, kind)
			}
			for _, c := range colourOf.FindAllStringSubmatch(r.body, -1) {
				// Paper and the faint tone lie behind; the rest has to stand out by its lightness alone: 3 to 1, as WCAG 1.4.11 asks of graphics.
				if c[1] != "fbfaf7" && c[1] != "dde3e1" && contrast(c[1], "fbfaf7") < 3 {
					t.Errorf("%s: %s draws in #%s, which is not told from the paper in grey", path, kind, c[1])
				}
			}
		}
	}
	for _, kind := range []string{"section", "draft", "curve", "costs", "chart"} {
		if kinds[kind] == 0 {
			t.Errorf("no %s was looked at: %v", kind, kinds)
		}
	}
}

// Two curves of one picture differ by their strokes, not by colour alone.
func TestCurvesDifferInGrey(t *testing.T) {
	w := office(t)
	r := get(t, w, lantern+"/s/W1/curve-1000.svg")
	var dashes []string
	for _, run := range runOf.FindAllString(r.body, -1) {
		if len(run) < 200 { // an axis or a mark, no run over all bands
			continue
		}
		dash := "solid"
		if m := dashOf.FindStringSubmatch(run); m != nil {
			dash = m[1]
		}
		dashes = append(dashes, dash)
	}
	words := 0
	for _, s := range []string{"as specified", "as installed", "as found"} {
		if strings.Contains(r.body, s) {
			words++
		}
	}
	slices.Sort(dashes)
	if n := len(dashes); words < 2 || n < words || len(slices.Compact(slices.Clone(dashes))) < words {
		t.Errorf("%d curves are drawn with the strokes %q", words, dashes)
	}
}

// kindOfPicture is the kind by its address.
func kindOfPicture(src string) string {
	for _, kind := range []string{"section", "draft", "curve", "costs", "chart"} {
		if strings.Contains(src, kind+"-") || strings.Contains(src, kind+"/") {
			return kind
		}
	}
	return src
}

// contrast is the ratio of two colours by WCAG 2.2, of their luminance alone.
func contrast(a, b string) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func luminance(hex string) float64 {
	var sum float64
	for i, share := range []float64{0.2126, 0.7152, 0.0722} {
		n, _ := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
		sum += share * linear(float64(n)/255)
	}
	return sum
}

func linear(c float64) float64 {
	if c <= 0.04045 {
		return c / 12.92
	}
	return math.Pow((c+0.055)/1.055, 2.4)
}

// Every kind of layer has a hatch of its own to be drawn with; a frame is drawn as it stands, and what is taken away is not there.
func TestEveryKindIsDrawn(t *testing.T) {
	for _, kind := range acoustics.LayerKinds() {
		if kind == (acoustics.Cavity{}).Kind() || kind == (jobs.RemoveExisting{}).Kind() {
			continue
		}
		if pages.Hatches[kind] == "" {
			t.Errorf("%s would be drawn as air", kind)
		}
	}
}
