package paper

import (
	"bytes"
	"fmt"
	"image"
	"image/draw"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// printedFile keeps what a paper writes in a file to look at.
func printedFile(t *testing.T, write func(io.Writer) error) string {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "paper.pdf")
	if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return file
}

// manyLabels are those of the ceiling, of the surface as a whole and of each layer, three times over.
func manyLabels() []Label {
	var ls []Label
	for i := range 3 {
		s := ceilingSheet()
		code := fmt.Sprintf("7KQ2-M4XR-9TB%d-P", i)
		at := Label{Firm: s.Firm, Job: s.Job, Room: s.Room, Surface: s.Surface, Name: s.Name, Says: LabelSays(36.7, 73.5), URL: Payload("https://office.example.org", code), Code: code,
			Section: s.Section, Printed: printed, Version: s.Version}
		ls = append(ls, at)
		for _, l := range s.Layers {
			at.Layer, at.What, at.Says = l.N, l.What, LabelSays(l.MassKgM2, l.ThicknessMM)
			ls = append(ls, at)
		}
	}
	ls[1].Surface, ls[1].What, ls[1].Name = "KELLERDECKE-OST-17", strings.Repeat("Zwischenwand ", 20), strings.Repeat("W", 80)
	return ls
}

// Eighteen labels are two pages; every label's square code is read back from the printed page, and is of its own surface.
func TestLabelsAreRead(t *testing.T) {
	labels := manyLabels()
	file := printedFile(t, func(w io.Writer) error { return WriteLabels(w, labels) })
	sheets := pages(t, file)
	if len(sheets) != 2 {
		t.Fatalf("%d pages, expected 2", len(sheets))
	}
	mm := dpi / 25.4
	for i, l := range labels {
		page, place := sheets[i/10], i%10
		x, y := margin+float64(place%2)*(labelWide+labelGap)+2, margin+float64(place/2)*labelHigh+2
		at := image.Rect(int(x*mm), int(y*mm), int((x+qrSide)*mm), int((y+qrSide)*mm))
		cut := image.NewRGBA(image.Rect(0, 0, at.Dx(), at.Dy()))
		draw.Draw(cut, cut.Bounds(), page, at.Min, draw.Src)
		if got, level, err := read(cut); err != nil || got != l.URL || level != "H" {
			t.Errorf("label %d: read %q at level %s: %v", i, got, level, err)
		}
	}
	got := text(t, file)
	for _, l := range labels[2:] {
		for _, w := range []string{l.Surface, l.Code, l.What, l.Says, "page 1 of 2", "page 2 of 2", "25 November 2026, 08:30 UTC"} {
			if !strings.Contains(squeeze(got), squeeze(w)) {
				t.Errorf("%q is not on the labels", w)
			}
		}
	}
	standFree(t, file)
	if got := text(t, printedFile(t, func(w io.Writer) error { return WriteLabels(w, nil) })); !strings.Contains(got, "no surface") {
		t.Errorf("no labels print %q", got)
	}
}
