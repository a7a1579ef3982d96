package paper

import (
	"image"
	"image/color"
	"strings"
	"time"

	"github.com/disintegration/imaging"
	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

// scanSides are the sizes at which a photo is looked at, in pixels of its longer side: a code that fills the picture is read best
// small, one at its edge large.
var scanSides = []int{900, 1600, 500, 2400}

// patience is for how long another look is begun: a picture of plaster is full of what might be a code.
const patience = 2 * time.Second

// Scan reads the square code in a photo. It is false where none is found, or none that can be read.
func Scan(photo image.Image) (text string, found bool) {
	done, began := map[int]bool{}, time.Now()
	for _, side := range scanSides {
		small := imaging.Fit(photo, side, side, imaging.Box)
		b := small.Bounds()
		if long := max(b.Dx(), b.Dy()); done[long] {
			continue
		} else {
			done[long] = true
		}
		gray := gozxing.NewLuminanceSourceFromImage(small)
		for _, black := range []gozxing.Binarizer{gozxing.NewHybridBinarizer(gray), gozxing.NewGlobalHistgramBinarizer(gray)} {
			if text, found = decode(black); found {
				return text, true
			}
		}
		// Grain and ragged print go away when the picture is softened; edges that were blurred come back when it is sharpened. Squares that
		// a row of the picture takes for a corner of the code no longer lie in a row when it is turned.
		if time.Since(began) > patience {
			break
		}
		for _, other := range []image.Image{imaging.Blur(small, 1.2), imaging.Sharpen(small, 2), imaging.Rotate(small, 7, color.Gray{Y: 200})} {
			if text, found = decode(gozxing.NewHybridBinarizer(gozxing.NewLuminanceSourceFromImage(other))); found {
				return text, true
			}
		}
	}
	return "", false
}

func decode(black gozxing.Binarizer) (string, bool) {
	bitmap, err := gozxing.NewBinaryBitmap(black)
	if err != nil {
		return "", false
	}
	result, err := qrcode.NewQRCodeReader().Decode(bitmap, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
	if err != nil || result == nil {
		return "", false
	}
	return result.GetText(), true
}

// CodeIn takes the readable code out of what a square code says: the last part of a sheet's address, or the bare code. It is empty
// where the text is neither.
func CodeIn(payload string) string {
	payload = strings.TrimSpace(payload)
	if i := strings.LastIndex(strings.ToUpper(payload), "/S/"); i >= 0 {
		return payload[i+3:]
	}
	if strings.ContainsAny(payload, "/:. ") || payload == "" {
		return ""
	}
	return payload
}
