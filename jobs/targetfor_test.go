package jobs_test

import (
	"math"
	"strings"
	"testing"

	"tacet/jobs"
)

const twoSurfaces = `{"name":"x","rooms":[{"code":"R1","volume_m3":31},{"code":"R2","volume_m3":40}],"targets":[{"quantity":"dntw_ctr","value_db":45},{"quantity":"dntw_ctr","value_db":43,"element":"wall"},
 {"quantity":"dntw_ctr","value_db":50,"room":"r2"},{"quantity":"rw","value_db":55,"surface":"w2"},{"quantity":"lntw","value_db":62,"element":"floor"}],
 "surfaces":[
 {"code":"C1","kind":"ceiling","room":"R1","width_m":4,"height_m":3,"existing":[{"kind":"timber_panel","thickness_mm":22,"mass_kg_m2":12},{"kind":"cavity","depth_mm":175,"frame":{"kind":"joist","spacing_mm":400}}],"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]},
 {"code":"W1","kind":"wall","room":"R1","width_m":4,"height_m":3,"existing":[{"kind":"masonry","thickness_mm":215,"mass_kg_m2":380}],"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]},
 {"code":"W2","kind":"wall","room":"R2","width_m":4,"height_m":3,"existing":[{"kind":"masonry","thickness_mm":215,"mass_kg_m2":380}],"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]},
 {"code":"X1","kind":"boxing","room":"R1","length_m":3,"girth_m":0.8,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`

// A surface is judged by the target that belongs to it: its own, its room's, its element's, the job's. Values: arithmetic on the job above.
func TestTargetOfASurface(t *testing.T) {
	d := newDevice(t, 1, jobs.Supervisor)
	d.start(twoSurfaces)
	for code, want := range map[string]float64{"C1": 45, "W1": 43, "W2": 55} {
		f := d.job.PredictSurface(d.job.Surface(code)).Specified
		if f.Target == nil || f.Target.ValueDB != want {
			t.Errorf("%s is judged by %v, want %v", code, f.Target, want)
		}
		if f.PMeets == nil || !f.FlankingUnknown {
			t.Errorf("%s: chance %v, flanking unknown %v", code, f.PMeets, f.FlankingUnknown)
		}
	}
	for code, want := range map[string]int{"C1": 2, "W1": 1, "W2": 2, "X1": 1} {
		if got := d.job.TargetsFor(d.job.Surface(code)); len(got) != want {
			t.Errorf("%s has to reach %v, want %d", code, got, want)
		}
	}
	d.record(`{"do":"sound_test","quantity":"dntw_ctr","value_db":44,"source_room":"a","receiving_room":"b","surfaces":["W1"],"body":"Saltgate Test Room (invented)"}`)
	d.record(`{"do":"sound_test","quantity":"dntw_ctr","value_db":44,"source_room":"c","receiving_room":"d","surfaces":["C1"],"body":"Saltgate Test Room (invented)"}`)
	vs := d.job.TestVerdicts()
	if len(vs) != 2 || *vs[0].MarginDB != 1 || *vs[1].MarginDB != -1 {
		t.Errorf("margins: %+v", vs)
	}
	for _, bad := range []string{`"element":"roof"`, `"room":"a b"`, `"surface":"!"`} {
		if _, err := jobs.Import([]byte(strings.Replace(twoSurfaces, `"element":"wall"`, bad, 1))); err == nil {
			t.Errorf("%s was taken", bad)
		}
	}
}

// A target that a set has for walls alone goes into a job as one for walls; what is the same for both as one for all.
func TestTargetsOfASet(t *testing.T) {
	for _, set := range jobs.TargetSets() {
		ts := set.Targets()
		switch set.ID {
		case "england_residential": // walls 43, floors 45, impact 62: as the set has them
			if len(ts) != 3 || ts[0].Element != jobs.ElementWall || ts[1].Element != jobs.ElementFloor || ts[2].Element != "" {
				t.Errorf("%s: %+v", set.ID, ts)
			}
		case "england_new":
			if len(ts) != 2 || ts[0].Element != "" {
				t.Errorf("%s: %+v", set.ID, ts)
			}
		}
	}
}

// What nobody saw of the construction widens a prediction, by the usual figure or by the finding's own; what was seen does not. Arithmetic.
func TestAssumptionWidens(t *testing.T) {
	d := newDevice(t, 1, jobs.Supervisor)
	d.start(twoSurfaces)
	u := func() float64 { return *d.job.PredictSurface(d.job.Surface("W1")).Specified.UDB }
	seen := u()
	d.record(`{"do":"survey","surface":"W1","finding":"brick 215","known":"seen","category":"structure"}`)
	d.record(`{"do":"survey","surface":"W1","finding":"old wallpaper","known":"guessed","category":"hazard"}`)
	if u() != seen {
		t.Errorf("what was seen, or is no matter of the construction, widens from %v to %v", seen, u())
	}
	first := d.record(`{"do":"survey","surface":"W1","finding":"brick 215, not opened","known":"guessed","category":"structure"}`)
	if got, want := u(), math.Hypot(seen, 2); math.Abs(got-want) > 1e-9 {
		t.Errorf("guessed: %v, want %v", got, want)
	}
	d.record(`{"do":"survey","surface":"W1","finding":"voids","known":"drawn","category":"structure"}`)
	if got, want := u(), math.Hypot(seen, 2); math.Abs(got-want) > 1e-9 {
		t.Errorf("the widest counts: %v, want %v", got, want)
	}
	d.record(`{"do":"survey","surface":"W1","finding":"brick 215, not opened","known":"guessed","category":"structure","spread_db":3.5,"over":"` + first.ID + `"}`)
	f := d.job.PredictSurface(d.job.Surface("W1")).Specified
	if got, want := *f.UDB, math.Hypot(seen, 3.5); math.Abs(got-want) > 1e-9 || !strings.Contains(strings.Join(f.Notes, "\n"), "the spread is widened by 3.5 dB (as the finding says)") {
		t.Errorf("with a figure of its own: %v, want %v; %v", got, want, f.Notes)
	}
}

// A frame that stands by itself may be of timber: a screw has to hold in it as in timber, 25 mm (from memory, sure), behind a board of 15 mm.
func TestScrewIntoAFreeFrame(t *testing.T) {
	d := newDevice(t, 1, jobs.Supervisor)
	d.start(`{"name":"x","surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":3,"specified":[{"kind":"cavity","depth_mm":65,"frame":{"kind":"independent","mass_kg_m2":2}},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`)
	s := d.job.Surface("W1")
	if w, ok := s.ScrewWindow(s.Layer(2)); !ok || w.MinMM != 40 || w.MaxMM != 77 || w.StockMM != 42 {
		t.Errorf("%v %+v", ok, w)
	}
}
