package paper

import (
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/disintegration/imaging"
)

// codesAtOnce is how many sheets are printed and looked at in one go.
const codesAtOnce = 50

// printedCodes prints sheets with random codes, most with an address, and gives the pictures of their codes at 150 dpi, each with a
// hand's breadth of the page around it.
func printedCodes(t *testing.T, n int, random *rand.Rand) (want []string, pictures []image.Image) {
	t.Helper()
	tool := poppler(t, "pdftoppm")
	var sheets []Sheet
	for i := range n {
		code := ""
		for range 13 {
			code += string("0123456789ABCDEFGHJKMNPQRSTVWXYZ"[random.IntN(32)])
		}
		s := bareSheet()
		s.Code = code
		server := ""
		if i%3 > 0 {
			server = fmt.Sprintf("https://office-%d.example.org", random.IntN(1000))
			s.URL = Payload(server, code)
		}
		sheets, want = append(sheets, s), append(want, Payload(server, code))
	}
	file, dir := pdf(t, sheets...), t.TempDir()
	mm := dpi / 25.4
	x, y, side := int((pageWidth-margin-qrSide-6)*mm), int((margin-6)*mm), int((qrSide+12)*mm)
	out, err := exec.Command(tool, "-r", strconv.Itoa(dpi), "-gray", "-png", "-x", strconv.Itoa(x), "-y", strconv.Itoa(y), "-W", strconv.Itoa(side), "-H", strconv.Itoa(side), file, filepath.Join(dir, "code")).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	names, err := filepath.Glob(filepath.Join(dir, "code*.png"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		f, err := os.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		picture, err := png.Decode(f)
		if err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		pictures = append(pictures, picture)
	}
	if len(pictures) != n {
		t.Fatalf("%d sheets gave %d pictures", n, len(pictures))
	}
	return want, pictures
}

// worn is a printed code after a week on site and a hurried photo: the ink dragged sideways by a wet glove over up to two modules and
// fading, dust, half the contrast gone, turned by 15 degrees to one side or the other, and out of focus by a pixel and a half. How much
// of each a site does to a sheet is our own guess.
func worn(picture image.Image, random *rand.Rand) image.Image {
	b := picture.Bounds()
	g := image.NewGray(image.Rect(0, 0, b.Dx(), b.Dy()))
	drag := 4 + random.IntN(8) // pixels at 150 dpi; a module is about 6
	keeps := 1 - 1/float64(drag)
	for y := range b.Dy() {
		ink := 0.0
		for x := range b.Dx() {
			r, _, _, _ := picture.At(b.Min.X+x, b.Min.Y+y).RGBA()
			dark := 1 - float64(r)/0xffff
			ink = math.Max(dark, ink*keeps*0.8)
			v := 225 - 150*math.Max(dark, 0.6*ink) + 14*random.NormFloat64()
			if random.IntN(60) == 0 {
				v = 140 + 60*random.Float64() // dust
			}
			g.SetGray(x, y, color.Gray{Y: uint8(math.Max(0, math.Min(255, v)))})
		}
	}
	angle := 15.0
	if random.IntN(2) == 0 {
		angle = -15
	}
	return imaging.Blur(imaging.Rotate(g, angle, color.Gray{Y: 215}), 1.5)
}

// Clean sheets are all read, as a photo is read here, by a decoder that shares nothing with the encoder, and 99 of 100 in a single look;
// smeared, turned by 15 degrees and blurred at least 95 of 100 are. TACET_CODES asks for another number of sheets than 50.
func TestPrintedCodesAreRead(t *testing.T) {
	n := codesAtOnce
	if v := os.Getenv("TACET_CODES"); v != "" {
		var err error
		if n, err = strconv.Atoi(v); err != nil {
			t.Fatal(err)
		}
	}
	random := rand.New(rand.NewPCG(1, 2))
	clean, shown, plain, ours := 0, 0, 0, 0
	for left := n; left > 0; left -= codesAtOnce {
		want, pictures := printedCodes(t, min(left, codesAtOnce), random)
		for i, picture := range pictures {
			got, level, err := read(picture)
			if err == nil && got == want[i] && level == "Q" {
				clean++
			} else if err == nil {
				t.Errorf("a clean sheet: read %q at level %s, want %q at level Q", got, level, want[i])
			}
			if got, found := Scan(picture); found && got == want[i] {
				shown++
			} else {
				t.Errorf("a photo of a clean sheet: found %v, read %q, want %q", found, got, want[i])
			}
			w := worn(picture, random)
			if got, _, err := read(w); err == nil && got == want[i] {
				plain++
			}
			switch got, found := Scan(w); {
			case found && got == want[i]:
				ours++
			case found:
				t.Errorf("a worn sheet is read as %q, want %q", got, want[i])
			}
		}
	}
	t.Logf("evidence: %d sheets: clean %d read in one look, %d as a photo is read here; worn %d and %d", n, clean, shown, plain, ours)
	if 100*clean < 99*n || 100*plain < 95*n || 100*ours < 95*n {
		t.Errorf("of %d sheets %d were read clean in one look; worn %d in one look, %d as a photo is read; expected 99, 95 and 95 of 100", n, clean, plain, ours)
	}
}

// A code is found in a photo of a wall, small and askew; a wall without one holds none.
func TestScanFindsTheCodeInAPhoto(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 8))
	want, pictures := printedCodes(t, 2, random)
	wall := image.NewGray(image.Rect(0, 0, 3000, 2000))
	for i := range wall.Pix {
		wall.Pix[i] = uint8(120 + random.IntN(60))
	}
	if text, found := Scan(wall); found {
		t.Errorf("a bare wall says %q", text)
	}
	photo := imaging.Paste(wall, imaging.Rotate(imaging.Resize(pictures[1], 520, 0, imaging.Linear), 27, color.Gray{Y: 150}), image.Pt(1900, 900))
	if got, found := Scan(photo); !found || got != want[1] {
		t.Errorf("found %v: %q, want %q", found, got, want[1])
	}
}

func TestCodeIn(t *testing.T) {
	for payload, want := range map[string]string{
		"HTTPS://OFFICE.EXAMPLE.ORG/S/7KQ2M4XR9TBAP": "7KQ2M4XR9TBAP", "https://office.example.org/s/7KQ2M4XR9TBAP": "7KQ2M4XR9TBAP", " 7KQ2M4XR9TBAP ": "7KQ2M4XR9TBAP",
		"https://example.org/menu": "", "WIFI:T:WPA;S:x;;": "", "": "", "a lunch menu": "",
	} {
		if got := CodeIn(payload); got != want {
			t.Errorf("%q: %q, want %q", payload, got, want)
		}
	}
}
