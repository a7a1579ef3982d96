package pages_test

import (
	"net/url"
	"strings"
	"testing"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// Who asks for another material and leaves the mass in its field means the new material's mass, not the old one's; a mass that is typed counts.
func TestAnotherMaterialBringsItsMass(t *testing.T) {
	table, ok := acoustics.MaterialByID("plasterboard")
	if !ok {
		t.Fatal("the table of materials has no plasterboard")
	}
	for typed, want := range map[string]float64{"": table.DensityKgM3 * 15 / 1000, "11.5": 11.5} {
		w := lanternWorld(t)
		at := lantern + "/s/C1/5/substitute"
		doc := page(t, w, at)
		shown := doc.one(t, "#f-layer_new-mass_kg_m2").attr["value"]
		if shown != "12.6" || !strings.Contains(doc.one(t, "main").words(), "another material brings its own") {
			t.Fatalf("the field shows %q", shown)
		}
		mass := typed
		if mass == "" {
			mass = shown
		}
		post(t, w, at, url.Values{"state": {"asked"}, "layer_new.material": {"plasterboard"}, "layer_new.thickness_mm": {"15"}, "layer_new.mass_kg_m2": {mass}, "reason": {"one pallet came as standard board"}}).mustSee(t, lantern+"/s/C1")
		j := w.JobAs(pagestest.Job)
		r := j.OpenSubstitute(j.Surface("C1"), 5)
		if r == nil {
			t.Fatal("nothing was asked")
		}
		if got := r.What.(*jobs.Substitute).LayerNew.MassKgM2(); got != want {
			t.Errorf("typed %q: %v kg/m², want %v", typed, got, want)
		}
	}
}
