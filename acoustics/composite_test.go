package acoustics_test

import (
	"errors"
	"math"
	"testing"

	"tacet/acoustics"
)

// A tenth of the area with 20 dB in a wall of 50 dB leaves 29.96 dB (arithmetic); nothing but equal parts changes nothing.
func TestComposite(t *testing.T) {
	wall, hole := acoustics.CurveFrom(500, 50), acoustics.CurveFrom(500, 20)
	got, err := acoustics.Composite(acoustics.Part{AreaM2: 9, R: wall}, acoustics.Part{AreaM2: 1, R: hole})
	if err != nil {
		t.Fatal(err)
	}
	if db, _ := got.At(500); math.Abs(db-29.96) > 0.01 {
		t.Errorf("%.2f dB, want 29.96", db)
	}
	same, err := acoustics.Composite(acoustics.Part{AreaM2: 3, R: wall}, acoustics.Part{AreaM2: 1, R: wall})
	if err != nil {
		t.Fatal(err)
	}
	if db, _ := same.At(500); math.Abs(db-50) > 1e-9 {
		t.Errorf("%.2f dB, want 50", db)
	}
	var in *acoustics.InputError
	if _, err := acoustics.Composite(acoustics.Part{AreaM2: 0, R: wall}); !errors.As(err, &in) {
		t.Errorf("an area of 0 gives %v", err)
	}
}

// A missing board over a tenth of one face, as a composite of two predictions, lies between both and nearer the weak one than by area.
func TestMissingBoardArea(t *testing.T) {
	g, c := board(12.5, 8.5), cavity(75, 50, "steel_stud")
	whole, bare := predict(t, wall(g, c, g)), predict(t, wall(g, c))
	got, err := acoustics.Composite(acoustics.Part{AreaM2: 9, R: whole.R}, acoustics.Part{AreaM2: 1, R: bare.R})
	if err != nil {
		t.Fatal(err)
	}
	r, err := acoustics.RateAirborne(got)
	if err != nil {
		t.Fatal(err)
	}
	if r.Value <= bare.RwDB || r.Value >= whole.RwDB {
		t.Errorf("%d dB, whole %d dB, without the board %d dB", r.Value, whole.RwDB, bare.RwDB)
	}
}
