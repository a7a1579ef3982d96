package drawing

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the golden pictures")

// samples are all sections of the tests, by the name of their golden picture.
func samples() map[string]Section {
	return map[string]Section{
		"ceiling": livingCeiling(), "wall": partyWall(), "floor": platformFloor(), "boxing": stackBoxing(), "pipe": wrappedPipe(),
		"beam": wrappedBeam(), "twelve": twelveLayers(), "empty": emptySurface(), "one": oneLayer(),
	}
}

func TestGoldenPictures(t *testing.T) {
	for name, section := range samples() {
		for _, width := range []int{320, 720} {
			check(t, fmt.Sprintf("%s-%d.svg", name, width), section.SVG(width))
		}
		check(t, name+"-mini.svg", section.Mini())
	}
	check(t, "legend-320.svg", Legend(320, livingCeiling(), partyWall(), platformFloor()))
	for _, m := range Marks() {
		check(t, "mark-"+string(m)+".svg", m.SVG(16))
	}
}

func check(t *testing.T, name string, got []byte) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s has changed; look at it and run with -update if the change is meant", name)
	}
}
