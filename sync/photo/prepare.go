package photo

import (
	"bytes"
	"fmt"
	"image"
	"image/draw"
	"image/jpeg"
	_ "image/png" // a picture of a drawing or a screen

	"github.com/disintegration/imaging"

	"tacet/jobs"
)

// Limits of a picture as it comes, and what becomes of it.
const (
	MaxBytes  = 12 << 20
	MaxPixels = 50_000_000
	LongSide  = 2000 // px, of what is kept
	quality   = 82
)

// Decode reads a picture within the limits, upright as it was held. Field names it in complaints: a file name, a form field.
func Decode(field string, data []byte) (image.Image, error) {
	if len(data) > MaxBytes {
		return nil, &jobs.InputError{Field: field, Value: fmt.Sprintf("%.1f MiB", float64(len(data))/(1<<20)), Range: "at most 12", Unit: "MiB"}
	}
	// the size that a file declares costs nothing to read; a small file can declare gigabytes
	cfg, format, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil || (format != "jpeg" && format != "png") {
		return nil, &jobs.InputError{Field: field, Value: "not a picture", Range: "JPEG or PNG"}
	}
	if cfg.Width < 1 || cfg.Height < 1 || int64(cfg.Width)*int64(cfg.Height) > MaxPixels {
		return nil, &jobs.InputError{Field: field, Value: fmt.Sprintf("%d x %d", cfg.Width, cfg.Height), Range: "at most 50 million", Unit: "pixels"}
	}
	img, err := imaging.Decode(bytes.NewReader(data), imaging.AutoOrientation(true))
	if err != nil {
		return nil, &jobs.InputError{Field: field, Value: "a damaged picture", Hint: "take it again"}
	}
	return img, nil
}

// Prepare reads a picture and gives the JPEG that is kept.
func Prepare(field string, data []byte) ([]byte, error) {
	img, err := Decode(field, data)
	if err != nil {
		return nil, err
	}
	img = imaging.Fit(img, LongSide, LongSide, imaging.Lanczos)
	// transparent parts would turn black
	flat := image.NewRGBA(image.Rect(0, 0, img.Bounds().Dx(), img.Bounds().Dy()))
	draw.Draw(flat, flat.Bounds(), image.White, image.Point{}, draw.Src)
	draw.Draw(flat, flat.Bounds(), img, img.Bounds().Min, draw.Over)
	var out bytes.Buffer
	if err := jpeg.Encode(&out, flat, &jpeg.Options{Quality: quality}); err != nil {
		return nil, fmt.Errorf("write picture %s: %w", field, err)
	}
	return out.Bytes(), nil
}
