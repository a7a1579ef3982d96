package photo_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/sync/photo"
	"tacet/sync/replica"
)

const company = "01900000-0000-7000-8000-00000000c001"

// picture is left half red, right half white.
func picture(w, h int) image.Image {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{255, 255, 255, 255}
			if x < w/2 {
				c = color.RGBA{200, 0, 0, 255}
			}
			m.Set(x, y, c)
		}
	}
	return m
}

func asJPEG(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// withCamera puts the metadata of a camera into a JPEG: which way up it was held, and a place.
func withCamera(pic []byte, orientation uint16) []byte {
	var tiff bytes.Buffer
	tiff.WriteString("II*\x00")
	for _, v := range []any{uint32(8), uint16(1), uint16(0x0112), uint16(3), uint32(1), orientation, uint16(0), uint32(0)} {
		if err := binary.Write(&tiff, binary.LittleEndian, v); err != nil {
			panic(err)
		}
	}
	body := append([]byte("Exif\x00\x00"), tiff.Bytes()...)
	body = append(body, []byte("GPS 51.5 N 0.1 W")...)
	head := []byte{0xff, 0xd8, 0xff, 0xe1, 0, 0}
	binary.BigEndian.PutUint16(head[4:], uint16(len(body)+2))
	return append(append(head, body...), pic[2:]...)
}

func decode(t testing.TB, data []byte) image.Image {
	t.Helper()
	m, format, err := image.Decode(bytes.NewReader(data))
	if err != nil || format != "jpeg" {
		t.Fatalf("%s, %v", format, err)
	}
	return m
}

// What is kept is turned as the camera was held, small, and says nothing of camera and place.
func TestPrepare(t *testing.T) {
	in := withCamera(asJPEG(t, picture(2400, 1200)), 6) // held on its side: turn right
	out, err := photo.Prepare("photo", in)
	if err != nil {
		t.Fatal(err)
	}
	m := decode(t, out)
	if b := m.Bounds(); b.Dx() != 1000 || b.Dy() != 2000 {
		t.Errorf("%d x %d", b.Dx(), b.Dy())
	}
	// turned to the right, what was left is on top
	if r, g, _, _ := m.At(500, 100).RGBA(); r>>8 < 150 || g>>8 > 60 {
		t.Errorf("the top is not red: %d %d", r>>8, g>>8)
	}
	if r, g, _, _ := m.At(500, 1900).RGBA(); r>>8 < 200 || g>>8 < 200 {
		t.Errorf("the bottom is not white: %d %d", r>>8, g>>8)
	}
	for _, mark := range []string{"Exif", "GPS"} {
		if bytes.Contains(out, []byte(mark)) {
			t.Errorf("%s is still in it", mark)
		}
	}
	again, err := photo.Prepare("photo", in)
	if err != nil || !bytes.Equal(again, out) {
		t.Error("the same picture gives other bytes")
	}
}

func TestPrepareSmallPNG(t *testing.T) {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewNRGBA(image.Rect(0, 0, 40, 30))); err != nil { // transparent all over
		t.Fatal(err)
	}
	out, err := photo.Prepare("photo", b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	m := decode(t, out)
	if m.Bounds().Dx() != 40 {
		t.Errorf("%d px wide", m.Bounds().Dx())
	}
	if r, _, _, _ := m.At(5, 5).RGBA(); r>>8 < 250 {
		t.Error("what was transparent is not white")
	}
}

func TestPrepareRefuses(t *testing.T) {
	var bomb bytes.Buffer
	if err := png.Encode(&bomb, image.NewGray(image.Rect(0, 0, 30, 30))); err != nil {
		t.Fatal(err)
	}
	big := bomb.Bytes()
	binary.BigEndian.PutUint32(big[16:], 30000) // the size that the header declares
	binary.BigEndian.PutUint32(big[20:], 30000)
	good := asJPEG(t, picture(64, 64))
	for name, data := range map[string][]byte{
		"nothing":        nil,
		"text":           []byte("not a picture at all"),
		"a GIF":          []byte("GIF89a\x01\x00\x01\x00\x00\x00\x00;"),
		"half a picture": good[:len(good)/3],
		"13 MiB":         make([]byte, 13<<20),
		"900 million px": big,
	} {
		_, err := photo.Prepare("photos[0]", data)
		var in *jobs.InputError
		if !errors.As(err, &in) || in.Field != "photos[0]" || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func FuzzPrepare(f *testing.F) {
	f.Add(asJPEG(f, picture(16, 8)))
	f.Add(withCamera(asJPEG(f, picture(16, 8)), 8))
	f.Fuzz(func(t *testing.T, data []byte) {
		out, err := photo.Prepare("photo", data)
		if err == nil && decode(t, out).Bounds().Dx() > photo.LongSide {
			t.Error("too wide")
		}
	})
}

func TestDir(t *testing.T) {
	ctx := context.Background()
	root := t.TempDir()
	d := photo.NewDir(filepath.Join(root, "photos"))
	h, err := d.Put(ctx, company, []byte("a picture"))
	if err != nil || h != jobs.HashBlob([]byte("a picture")) {
		t.Fatal(h, err)
	}
	if again, err := d.Put(ctx, company, []byte("a picture")); err != nil || again != h {
		t.Error(again, err)
	}
	if data, err := d.Get(ctx, company, h); err != nil || string(data) != "a picture" {
		t.Errorf("%q, %v", data, err)
	}
	if n, err := d.Size(ctx, company, h); err != nil || n != 9 {
		t.Error(n, err)
	}
	if _, err := d.Get(ctx, "01900000-0000-7000-8000-00000000c002", h); !errors.Is(err, jobs.ErrNotFound) {
		t.Errorf("another company: %v", err)
	}
	for _, co := range []string{"", "../../etc", strings.Repeat(".", 36)} {
		if _, err := d.Put(ctx, co, []byte("x")); err == nil {
			t.Errorf("%q was taken for a company", co)
		}
	}
	var files []string
	err = filepath.WalkDir(root, func(path string, e os.DirEntry, err error) error {
		if err == nil && !e.IsDir() {
			files = append(files, path)
		}
		return err
	})
	if err != nil || len(files) != 1 {
		t.Fatalf("%v, %v", files, err)
	}
	if err := os.WriteFile(files[0], []byte("a pictura"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Get(ctx, company, h); !errors.Is(err, replica.ErrBroken) {
		t.Errorf("a photo that was changed: %v", err)
	}
	if _, err := d.Put(ctx, company, []byte("a picture")); err != nil {
		t.Error(err)
	}
	if _, err := d.Get(ctx, company, h); err != nil {
		t.Errorf("a photo that was put again: %v", err)
	}
}
