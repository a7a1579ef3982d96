package jobs_test

import (
	"testing"

	"tacet/jobs"
	"tacet/testdata"
)

// What a substitution does is known before it is answered. Masses of the demonstration house (invented); sums and differences are arithmetic:
// W1 33.0 - 12.6 + 9.8 = 30.2 kg/m²; the structure carries 36.7 + 28.3 = 65.0 kg/m², with the standard board on the ceiling 62.2, at 9.81 m/s².
func TestEffectOfASubstitution(t *testing.T) {
	d := newDevice(t, 1, jobs.Site)
	file, err := testdata.Files.ReadFile("demo/lantern-row.json")
	if err != nil {
		t.Fatal(err)
	}
	boss := newDevice(t, 2, jobs.Supervisor)
	boss.start(string(file))
	d.takes(boss)
	d.record(`{"do":"substitute","surface":"W1","layer":2,"state":"asked","layer_new":{"kind":"board","thickness_mm":12.5,"mass_kg_m2":9.8},"reason":"one pallet came as standard board"}`)
	d.record(`{"do":"substitute","surface":"C1","layer":5,"state":"already_fixed","layer_new":{"kind":"board","thickness_mm":15,"mass_kg_m2":9.8},"reason":"the same"}`)
	es := d.job.WorkView().Substitutions
	if len(es) != 2 || es[0].Surface != "C1" || es[1].Surface != "W1" {
		t.Fatalf("%d effects", len(es))
	}
	c, w := es[0], es[1]
	if w.Without.MassKgM2 != 33 || w.With.MassKgM2 != 30.2 || w.Without.ThicknessMM-w.With.ThicknessMM != 2.5 || w.State != jobs.Asked {
		t.Errorf("W1: %+v to %+v", w.Without, w.With)
	}
	if a, b := w.Without.Predicted, w.With.Predicted; a.RwDB == nil || b.RwDB == nil || *b.RwDB > *a.RwDB || *b.UDB <= 0 {
		t.Errorf("W1 is predicted %v without and %v with a lighter board", a.RwDB, b.RwDB)
	}
	if len(w.Without.Screws) != len(w.With.Screws) || len(w.With.Screws) == 0 || w.With.Screws[0].MinMM != w.Without.Screws[0].MinMM-2.5 {
		t.Errorf("W1, screws: %+v to %+v", w.Without.Screws, w.With.Screws)
	}
	if c.Without.OnStructure == nil || *c.Without.OnStructure != 0.63765 || *c.With.OnStructure != 0.610182 || *c.With.LoadLimit != 0.7 || c.State != jobs.AlreadyFixed {
		t.Errorf("C1: %v to %v", c.Without.OnStructure, c.With.OnStructure)
	}
	// What was answered waits no longer, and nothing of the job was changed by looking.
	boss.takes(d)
	boss.record(`{"do":"substitute","surface":"W1","layer":2,"state":"agreed","layer_new":{"kind":"board","thickness_mm":12.5,"mass_kg_m2":9.8},"reason":"inner layer only"}`)
	boss.record(`{"do":"substitute","surface":"C1","layer":5,"state":"refused","reason":"the ceiling needs its mass"}`)
	if es := boss.job.OpenEffects(); len(es) != 0 {
		t.Errorf("still open: %+v", es)
	}
	if m := boss.job.Surface("W1").SpecifiedMass(); m != 33 {
		t.Errorf("specified mass %v", m)
	}
}
