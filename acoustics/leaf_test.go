package acoustics_test

import (
	"errors"
	"strings"
	"testing"

	"tacet/acoustics"
)

// Two sheets glued all over are one thick sheet: f_c of the leaf falls to half that of one sheet, and the prediction is that of the thick
// sheet. Screwed, they keep it (arithmetic on f_c ~ 1/h).
func TestBondedSheetsAreOneThickSheet(t *testing.T) {
	glued := acoustics.Layer{Element: acoustics.Board{Thickness: 12.5, Mass: 8.5, Bonded: true}}
	thick, bonded, screwed := predict(t, wall(board(25, 17))), predict(t, wall(board(12.5, 8.5), glued)), predict(t, wall(board(12.5, 8.5), board(12.5, 8.5)))
	if thick.R.Rounded() != bonded.R.Rounded() {
		t.Errorf("glued %v, one thick sheet %v", bonded.R, thick.R)
	}
	if bonded.RwDB >= screwed.RwDB {
		t.Errorf("glued %d dB, screwed %d dB: coincidence within the rated range should cost", bonded.RwDB, screwed.RwDB)
	}
}

// A viscoelastic layer between two boards damps best at the temperature where its loss peaks; far below it is stiff glass, far above soft
// rubber: at both the leaf loses less at coincidence.
func TestDampingFollowsTemperature(t *testing.T) {
	polymer := acoustics.Polymers()[2]
	at := func(celsius float64) float64 {
		m := acoustics.Layer{Element: acoustics.Membrane{Thickness: 0.5, Mass: 0.6, Polymer: &polymer, Celsius: &celsius}}
		p := predict(t, wall(board(12.5, 8.5), m, board(12.5, 8.5)))
		if !strings.Contains(strings.Join(p.Notes, "\n"), "°C") {
			t.Errorf("the temperature is not in the notes: %q", p.Notes)
		}
		db, _ := p.R.At(2500)
		return db
	}
	cold, mild, hot := at(-30), at(30), at(75)
	if mild <= cold || mild <= hot {
		t.Errorf("2500 Hz: %.1f dB at -30 °C, %.1f dB at 30 °C, %.1f dB at 75 °C", cold, mild, hot)
	}
	c := 200.0
	_, err := wall(board(12.5, 8.5), acoustics.Layer{Element: acoustics.Membrane{Thickness: 1, Mass: 1, Celsius: &c}}).Predict()
	var in *acoustics.InputError
	if !errors.As(err, &in) || !strings.Contains(err.Error(), "give -40 to 80 °C") {
		t.Errorf("200 °C gives %v", err)
	}
}

// Profiled and orthotropic sheets are refused with the reason, by kind and by material.
func TestOrthotropicSheetsAreRefused(t *testing.T) {
	for _, layer := range []string{
		`{"kind":"profiled_sheet","thickness_mm":0.7,"mass_kg_m2":7}`,
		`{"kind":"metal","thickness_mm":0.7,"mass_kg_m2":7,"material":"corrugated_steel"}`,
		`{"kind":"concrete","thickness_mm":200,"mass_kg_m2":280,"material":"hollow_core_slab"}`,
	} {
		var b acoustics.BuildUp
		err := acoustics.Decode([]byte(`{"surface":"wall","width_m":4,"height_m":2.5,"layers":[`+layer+`]}`), &b)
		if err == nil {
			_, err = b.Predict()
		}
		if err == nil || !strings.Contains(err.Error(), "use a measured value") || !strings.HasPrefix(err.Error(), "layers[0].") {
			t.Errorf("%s: %v", layer, err)
		}
	}
}

// A floor given from above is told so.
func TestFloorOrderIsNoted(t *testing.T) {
	b := wall(solid("screed", 65, 130), acoustics.Layer{Element: acoustics.Mat{Thickness: 10, Mass: 2, DynamicStiffnessMNM3: 20}}, solid("concrete", 150, 345))
	b.Surface = "floor"
	if notes := strings.Join(predict(t, b).Notes, "\n"); !strings.Contains(notes, "check the order") {
		t.Errorf("no word about the order: %q", notes)
	}
}

// Where the stack promises much more than the simplified method, both stand in the result and u holds them.
func TestSimplifiedLiningStandsBeside(t *testing.T) {
	p := predict(t, wall(solid("masonry", 103, 190), cavity(100, 75, "none"), board(15, 12.8), board(15, 12.8)))
	if notes := strings.Join(p.Notes, "\n"); !strings.Contains(notes, "simplified method of ISO 12354-1 Annex D gives R_w") || p.UDB < 4 {
		t.Errorf("R_w %d dB, u %.1f dB, notes %q", p.RwDB, p.UDB, notes)
	}
}

// Bare porous block is told to be sealed; plaster seals it, and dense block needs none.
func TestPorousBlockIsNoted(t *testing.T) {
	for _, c := range []struct {
		layers []acoustics.Layer
		want   bool
	}{
		{[]acoustics.Layer{solid("masonry", 100, 60)}, true},
		{[]acoustics.Layer{solid("plaster", 13, 10), solid("masonry", 100, 60)}, false},
		{[]acoustics.Layer{solid("masonry", 100, 200)}, false},
	} {
		if got := strings.Contains(strings.Join(predict(t, wall(c.layers...)).Notes, "\n"), "through its pores"); got != c.want {
			t.Errorf("%v: noted %v, want %v", c.layers, got, c.want)
		}
	}
}
