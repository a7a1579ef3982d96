package phone

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	"image/png"
)

// icon draws the program's icon as a picture: a wall in section on paper, masonry, wool and two boards, as in tacet.svg. All that matters
// lies within the middle four fifths, because phones cut icons to shapes of their own.
func icon(side int) []byte {
	ink, paper := color.RGBA{0x15, 0x18, 0x1a, 0xff}, color.RGBA{0xfb, 0xfa, 0xf7, 0xff}
	m := image.NewRGBA(image.Rect(0, 0, side, side))
	draw.Draw(m, m.Bounds(), image.NewUniform(paper), image.Point{}, draw.Src)
	unit := float64(side) / 44 // the drawing is 32 units wide, with 6 around it
	line := func(x1, y1, x2, y2, width float64) {
		steps := 2 * side
		for i := range steps + 1 {
			t := float64(i) / float64(steps)
			x, y, w := (6+x1+(x2-x1)*t)*unit, (6+y1+(y2-y1)*t)*unit, width*unit/2
			draw.Draw(m, image.Rect(int(x-w), int(y-w), int(x+w+1), int(y+w+1)), image.NewUniform(ink), image.Point{}, draw.Src)
		}
	}
	for _, x := range []float64{4, 9, 20, 23, 28} {
		line(x, 4, x, 28, 1.5)
	}
	for _, y := range []float64{10, 16, 22, 28} {
		line(4, y, 9, y-5, 1.2)
	}
	for i, y := range []float64{7, 10, 13, 16, 19} {
		if i%2 == 0 {
			line(9, y, 20, y+3, 1)
		} else {
			line(20, y, 9, y+3, 1)
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		panic(err) // writing to memory
	}
	return b.Bytes()
}
