package pages_test

import (
	"net/url"
	"strings"
	"testing"
	"time"

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

func TestSubstitution(t *testing.T) {
	w := lanternWorld(t)
	post(t, w, c1+"/5/substitute", url.Values{"state": {"asked"}, "layer_new.material": {"plasterboard"}, "layer_new.thickness_mm": {"15"},
		"layer_new.mass_kg_m2": {"9.8"}, "reason": {"standard board on the pallet"}}).mustSee(t, c1)
	if got := jobs.NameOf(w.JobAs(pagestest.Job).Surface("C1").Layer(5).Now); got != "Dense acoustic plasterboard 15 mm" {
		t.Errorf("a question has changed the layer to %s", got)
	}
	w.As(pagestest.Maren, jobs.Supervisor)
	if !strings.Contains(page(t, w, "/queue").words(), "Plasterboard, standard 15 mm instead of Dense acoustic plasterboard 15 mm?") {
		t.Error("the queue does not ask for the answer")
	}
	doc := page(t, w, c1+"/5/substitute")
	if got := doc.one(t, "#f-layer_new-mass_kg_m2").attr["value"]; got != "9.8" {
		t.Errorf("the answer starts with %q kg/m²", got)
	}
	w.Now = w.Now.Add(time.Minute)
	post(t, w, c1+"/5/substitute", url.Values{"state": {"agreed"}, "layer_new.material": {"plasterboard"}, "layer_new.thickness_mm": {"15"},
		"layer_new.mass_kg_m2": {"9.8"}, "reason": {"as asked"}}).mustSee(t, c1)
	if got := w.JobAs(pagestest.Job).Surface("C1").Layer(5).Now.MassKgM2(); got != 9.8 {
		t.Errorf("agreed, and the layer has %v kg/m²", got)
	}
	// A cavity has a depth and no material; its frame stays as it was.
	post(t, w, c1+"/2/substitute", url.Values{"state": {"already_fixed"}, "layer_new.depth_mm": {"30"}, "reason": {"other clips"}}).mustSee(t, c1)
	if got := jobs.NameOf(w.JobAs(pagestest.Job).Surface("C1").Layer(2).Now); got != "clip and channel 30 mm at 400 mm centres" {
		t.Errorf("the cavity became %s", got)
	}
}
