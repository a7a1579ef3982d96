package demo

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"os"

	"golang.org/x/image/draw"
	"golang.org/x/image/font"
	"golang.org/x/image/font/basicfont"
	"golang.org/x/image/math/fixed"
)

// picture is a drawing that stands for a photo of a board's edge: board, wall, the gap between, a rule. It says on its
// face that it is drawn.
type picture struct {
	Title string
	Name  string
	GapMM float64
	Open  bool // the gap is not sealed
}

// A small drawing, enlarged, so that the plain letters can be read on a phone.
const (
	pictureWidth  = 400
	pictureHeight = 300
	enlarged      = 3
	edgeX         = 270 // where the board ends
)

var (
	boardGrey = color.Gray{215}
	wallGrey  = color.Gray{150}
	sealGrey  = color.Gray{90}
	black     = color.Gray{0}
	white     = color.Gray{255}
)

func (p picture) write(path string) error {
	small := image.NewGray(image.Rect(0, 0, pictureWidth, pictureHeight))
	fill(small, 0, 0, pictureWidth, pictureHeight, boardGrey)
	for y := 70; y < pictureHeight; y += 80 { // joints and screw heads
		fill(small, 0, y, edgeX, 1, wallGrey)
		for x := 30; x < edgeX; x += 60 {
			fill(small, x, y+30, 3, 3, sealGrey)
		}
	}
	gap := 4 + int(p.GapMM)*2
	fill(small, edgeX, 0, pictureWidth-edgeX, pictureHeight, wallGrey)
	fill(small, edgeX, 0, gap, pictureHeight, sealGrey)
	if p.Open {
		fill(small, edgeX, 60, gap, pictureHeight-120, black)
	}
	fill(small, 20, pictureHeight-60, 240, 18, white) // a rule, a mark every 10
	for x := 20; x <= 260; x += 10 {
		fill(small, x, pictureHeight-60, 1, 8, black)
	}
	label(small, 10, 20, p.Title)
	label(small, 10, 38, p.Name)
	fill(small, 0, pictureHeight-22, pictureWidth, 22, black)
	labelIn(small, 10, pictureHeight-7, "DRAWN FOR THE DEMONSTRATION, NOT A PHOTOGRAPH", white)

	big := image.NewGray(image.Rect(0, 0, pictureWidth*enlarged, pictureHeight*enlarged))
	draw.NearestNeighbor.Scale(big, big.Bounds(), small, small.Bounds(), draw.Src, nil)
	var out bytes.Buffer
	if err := jpeg.Encode(&out, big, &jpeg.Options{Quality: 85}); err != nil {
		return fmt.Errorf("draw %s: %w", p.Name, err)
	}
	if err := os.WriteFile(path, out.Bytes(), 0o600); err != nil {
		return fmt.Errorf("draw %s: %w", p.Name, err)
	}
	return nil
}

func fill(img *image.Gray, x, y, w, h int, c color.Gray) {
	draw.Draw(img, image.Rect(x, y, x+w, y+h), image.NewUniform(c), image.Point{}, draw.Src)
}

func label(img *image.Gray, x, y int, text string) { labelIn(img, x, y, text, black) }

func labelIn(img *image.Gray, x, y int, text string, c color.Gray) {
	d := font.Drawer{Dst: img, Src: image.NewUniform(c), Face: basicfont.Face7x13, Dot: fixed.P(x, y)}
	d.DrawString(text)
}
