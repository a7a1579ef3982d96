package pages_test

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"net/url"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
	"tacet/server/paper"
)

// photoOf is a photo of a square code lying on a grey board.
func photoOf(t *testing.T, text string) []byte {
	t.Helper()
	modules, err := paper.Modules(text)
	if err != nil {
		t.Fatal(err)
	}
	img := image.NewGray(image.Rect(0, 0, 1200, 900))
	draw.Draw(img, img.Bounds(), image.NewUniform(color.Gray{Y: 150}), image.Point{}, draw.Src)
	const side, x0, y0 = 9, 420, 260
	for y, row := range modules {
		for x, black := range row {
			tone := color.Gray{Y: 235}
			if black {
				tone = color.Gray{Y: 40}
			}
			draw.Draw(img, image.Rect(x0+x*side, y0+y*side, x0+(x+1)*side, y0+(y+1)*side), image.NewUniform(tone), image.Point{}, draw.Src)
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// A photo of a sheet's code opens its surface, with the address of a server or without, and records nothing; of any other photo it is
// said what is wrong with it.
func TestCodeIsReadFromAPhoto(t *testing.T) {
	w := lanternWorld(t)
	records := len(w.JobAs(pagestest.Job).Records)
	code := jobs.SheetCode(pagestest.Job, "C1")
	for _, text := range []string{paper.Payload("https://office.example.org", code), code} {
		upload(t, w, "/s", nil, photoOf(t, text)).mustSee(t, lantern+"/s/C1?read=photo")
	}
	if got := page(t, w, lantern+"/s/C1?read=photo").words(); !strings.Contains(got, "Read in the photo: sheet "+jobs.FormatSheetCode(code)+", which is C1 of 7b Lantern Row.") {
		t.Errorf("what was read is not said: %s", got)
	}
	blank := image.NewGray(image.Rect(0, 0, 400, 300))
	var none bytes.Buffer
	if err := png.Encode(&none, blank); err != nil {
		t.Fatal(err)
	}
	other := jobs.SheetCode("018f0000-0000-7000-8000-00000000a0ff", "C1")
	for name, test := range map[string]struct {
		photos [][]byte
		says   string
	}{
		"no photo":           {nil, "Choose or take a photo"},
		"no code":            {[][]byte{none.Bytes()}, "No square code can be read in this photo"},
		"a menu":             {[][]byte{photoOf(t, "https://example.org/<b>menu</b>")}, "https://example.org/&lt;b&gt;menu&lt;/b&gt;"},
		"another firm's job": {[][]byte{photoOf(t, other)}, "No surface here has the code " + jobs.FormatSheetCode(other)},
		"one letter changed": {[][]byte{photoOf(t, changed(code))}, "typing error"},
		"not a picture":      {[][]byte{[]byte("%PDF-1.4")}, "JPEG or PNG"},
		"too large":          {[][]byte{bytes.Repeat([]byte("x"), 12<<20+1)}, "at most 12"},
	} {
		r := upload(t, w, "/s", url.Values{}, test.photos...)
		if r.status != 422 || !strings.Contains(r.body, test.says) || !strings.Contains(r.body, "To correct first") {
			t.Errorf("%s: %d, and does not say %q", name, r.status, test.says)
		}
	}
	if now := len(w.JobAs(pagestest.Job).Records); now != records {
		t.Errorf("scanning left %d records, there were %d", now, records)
	}
}

// changed is a code with its third letter replaced.
func changed(code string) string {
	if code[2] == '7' {
		return code[:2] + "8" + code[3:]
	}
	return code[:2] + "7" + code[3:]
}
