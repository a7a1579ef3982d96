package paper

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	zxing "github.com/makiuchi-d/gozxing/qrcode"
)

// read decodes the code in a picture and says its error correction level.
func read(picture image.Image) (text, level string, err error) {
	bitmap, err := gozxing.NewBinaryBitmapFromImage(picture)
	if err != nil {
		return "", "", err
	}
	result, err := zxing.NewQRCodeReader().Decode(bitmap, map[gozxing.DecodeHintType]interface{}{gozxing.DecodeHintType_TRY_HARDER: true})
	if err != nil {
		return "", "", err
	}
	return result.GetText(), fmt.Sprint(result.GetResultMetadata()[gozxing.ResultMetadataType_ERROR_CORRECTION_LEVEL]), nil
}

// corner cuts the code with its quiet zone out of a first page.
func corner(page image.Image) image.Image {
	mm := dpi / 25.4
	at := image.Rect(int((pageWidth-margin-qrSide)*mm), int(margin*mm), int((pageWidth-margin)*mm), int((margin+qrSide)*mm))
	out := image.NewRGBA(image.Rect(0, 0, at.Dx(), at.Dy()))
	draw.Draw(out, out.Bounds(), page, at.Min, draw.Src)
	return out
}

func TestPayloadIsUpperCase(t *testing.T) {
	tests := []struct{ server, code, want string }{
		{"https://office.example.org/", "7kq2-m4xr-9tba-p", "HTTPS://OFFICE.EXAMPLE.ORG/S/7KQ2M4XR9TBAP"},
		{"https://office.example.org:8443", "7KQ2M4XR9TBAP", "HTTPS://OFFICE.EXAMPLE.ORG:8443/S/7KQ2M4XR9TBAP"},
		{"", "7kq2 m4xr 9tba p", "7KQ2M4XR9TBAP"},
	}
	for _, test := range tests {
		if got := Payload(test.server, test.code); got != test.want {
			t.Errorf("%q %q: got %q, want %q", test.server, test.code, got, test.want)
		}
	}
}

// Printed at 35 mm with its quiet zone the code itself is 35 x n / (n + 8) mm wide, n modules (arithmetic).
func TestCodeHasItsSize(t *testing.T) {
	mm := dpi / 25.4
	s := ceilingSheet()
	modules, err := Modules(s.URL)
	if err != nil {
		t.Fatal(err)
	}
	n := len(modules) - 2*quietZone
	picture := corner(pages(t, pdf(t, s))[0])
	low, high := picture.Bounds().Dx(), 0
	for y := range picture.Bounds().Dy() {
		for x := range picture.Bounds().Dx() {
			if r, _, _, _ := picture.At(x, y).RGBA(); r < 0x8000 {
				low, high = min(low, x), max(high, x)
			}
		}
	}
	got, want := float64(high-low+1)/mm, qrSide*float64(n)/float64(n+2*quietZone)
	if got < want-0.4 || got > want+0.4 {
		t.Errorf("the code is %.1f mm wide, expected %.1f", got, want)
	}
	for i := range modules {
		for k := range quietZone {
			if modules[i][k] || modules[k][i] || modules[i][len(modules)-1-k] || modules[len(modules)-1-k][i] {
				t.Fatal("the quiet zone is not white")
			}
		}
	}
}

// A splash of plaster or a torn corner: one blot on a twentieth of the code, clear of its three corner squares, black or white.
// The error correction of level Q gets over it unless the blot takes the small square that holds the picture straight. Own
// criterion: 80 of 100 with this reader; at a tenth of the area it reads about two of three.
func TestBlottedCodesAreRead(t *testing.T) {
	s := ceilingSheet()
	clean := corner(pages(t, pdf(t, s))[0])
	modules, err := Modules(s.URL)
	if err != nil {
		t.Fatal(err)
	}
	side := clean.Bounds().Dx()
	module := float64(side) / float64(len(modules))
	quiet, square := int(quietZone*module), int((quietZone+8)*module)
	code := side - 2*quiet
	blot := int(math.Sqrt(float64(code*code) / 20))
	random := rand.New(rand.NewPCG(3, 4))
	n := 0
	for range 100 {
		x, y := 0, 0
		for x < square && y < square || x+blot > side-square && y < square || x < square && y+blot > side-square {
			x, y = quiet+random.IntN(code-blot), quiet+random.IntN(code-blot)
		}
		blotted := image.NewRGBA(clean.Bounds())
		draw.Draw(blotted, blotted.Bounds(), clean, image.Point{}, draw.Src)
		tone := color.Gray{Y: uint8(255 * random.IntN(2))}
		draw.Draw(blotted, image.Rect(x, y, x+blot, y+blot), image.NewUniform(tone), image.Point{}, draw.Src)
		if got, _, err := read(blotted); err == nil && got == s.URL {
			n++
		}
	}
	if n < 80 {
		t.Errorf("%d of 100 were read", n)
	}
}

func TestQRSVGHoldsTheModules(t *testing.T) {
	picture, err := QRSVG("HTTPS://OFFICE.EXAMPLE.ORG/S/7KQ2M4XR9TBAP", "code <of> this device", 280)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(picture), "style=") || !strings.Contains(string(picture), "<title>code &lt;of&gt; this device</title>") {
		t.Errorf("not fit for a page: %.200s", picture)
	}
	size, err := strconv.Atoi(regexp.MustCompile(`viewBox="0 0 (\d+)`).FindStringSubmatch(string(picture))[1])
	if err != nil {
		t.Fatal(err)
	}
	const module = 6
	canvas := image.NewGray(image.Rect(0, 0, size*module, size*module))
	draw.Draw(canvas, canvas.Bounds(), image.White, image.Point{}, draw.Src)
	for _, m := range regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1h-(\d+)z`).FindAllStringSubmatch(string(picture), -1) {
		v := [5]int{}
		for i := 1; i < 5; i++ {
			if v[i], err = strconv.Atoi(m[i]); err != nil {
				t.Fatal(err)
			}
		}
		draw.Draw(canvas, image.Rect(v[1]*module, v[2]*module, (v[1]+v[3])*module, (v[2]+1)*module), image.Black, image.Point{}, draw.Src)
	}
	if got, level, err := read(canvas); err != nil || got != "HTTPS://OFFICE.EXAMPLE.ORG/S/7KQ2M4XR9TBAP" || level != "Q" {
		t.Errorf("read %q at level %s: %v", got, level, err)
	}
}

func TestTooLongForACodeIsAnError(t *testing.T) {
	s := bareSheet()
	s.URL = strings.Repeat("A", 3000)
	if err := Write(&strings.Builder{}, []Sheet{s}); err == nil || !strings.Contains(err.Error(), "W2") {
		t.Errorf("got %v", err)
	}
}
