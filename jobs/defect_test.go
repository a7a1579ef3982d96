package jobs_test

import (
	"math"
	"strings"
	"testing"

	"tacet/jobs"
)

// complete puts every layer of the job's surfaces in place as specified, each hold point released before.
func complete(d *device) {
	d.t.Helper()
	for _, s := range d.job.Surfaces {
		for _, l := range s.Layers {
			for _, c := range s.ChecksOf(l.N) {
				if c.Rule.Stop {
					d.record(`{"do":"release","surface":"` + s.Code + `","layer":` + itoa(l.N) + `,"checks":["` + c.Rule.Code + `"]}`)
				}
			}
			d.record(`{"do":"install","surface":"` + s.Code + `","layer":` + itoa(l.N) + `,"share":1}`)
		}
	}
}

// Each fault is taken as its rule says and never helps; what is not known widens; what is no matter of sound does neither.
// The directions are physics, the amounts are not asserted here.
func TestDefectsOfEachKind(t *testing.T) {
	for _, c := range []struct {
		name, edge, says string
		lowers, widens   bool
	}{
		{"open perimeter", `{"do":"check","surface":"C1","layer":3,"check":"K23","result":"fail","measured":{"gap_mm":3,"length_m":15.6}}`, "slit of 3 mm by 15.6 m", true, false},
		{"open perimeter, length not measured", `{"do":"check","surface":"C1","layer":5,"check":"K28","result":"fail","measured":{"gap_mm":3}}`, "by 15.6 m", true, false},
		{"cut-out", `{"do":"check","surface":"C1","layer":5,"check":"K24","result":"fail","measured":{"gap_mm":5,"length_m":0.4}}`, "slit of 5 mm by 0.4 m", false, false},
		{"screws into the joists", `{"do":"check","surface":"C1","layer":3,"check":"K19","result":"fail","measured":{"screw_mm":60,"count":140}}`, "9.26 rigid bridges", true, false},
		{"screws, not counted", `{"do":"check","surface":"C1","layer":3,"check":"K19","result":"fail","measured":{"screw_mm":60}}`, "not known", false, true},
		{"hard spots", `{"do":"check","surface":"C1","layer":5,"check":"K21","result":"fail","measured":{"count":60}}`, "rigid bridges", true, false},
		{"half the wool missing", `{"do":"check","surface":"C1","layer":1,"check":"K16","result":"fail","measured":{"area_m2":7.56}}`, "taken for 50 % of it", true, false},
		{"wool too thin", `{"do":"check","surface":"C1","layer":1,"check":"K16","result":"fail","measured":{"depth_mm":25}}`, "only 25 mm deep over the whole area", true, false},
		{"lighter board", `{"do":"check","surface":"C1","layer":5,"check":"K01","result":"fail","measured":{"mass_kg_m2":8}}`, "8 kg/m²", true, false},
		{"membrane missing", `{"do":"check","surface":"C1","layer":4,"check":"K25","result":"fail","measured":{"area_m2":10}}`, "missing over 10 m²", true, false},
		{"screw through the floating floor", `{"do":"check","surface":"F1","layer":2,"check":"K34","result":"fail","measured":{"count":60}}`, "rigid bridges", true, false},
		{"no cable certificate", `{"do":"check","surface":"C1","check":"K13","result":"fail"}`, "not known", false, true},
		{"vent closed", `{"do":"check","surface":"C1","check":"K44","result":"fail"}`, "", false, false},
	} {
		d := newDevice(t, 1, jobs.Owner)
		d.start(house)
		complete(d)
		s := d.job.Surface("C1")
		before := d.job.PredictSurface(s).Installed
		fault := d.record(c.edge)
		s = d.job.Surface("C1")
		after := d.job.PredictSurface(s).AsFound
		if after.RwDB == nil {
			t.Errorf("%s: not predicted: %v", c.name, after.Notes)
			continue
		}
		costs := d.job.Costs(s)
		if len(costs) != 1 || costs[0].Record.ID != fault.ID {
			t.Fatalf("%s: costs %+v", c.name, costs)
		}
		cost := costs[0]
		if !strings.Contains(notes(after), c.says) {
			t.Errorf("%s: %q not said: %v", c.name, c.says, after.Notes)
		}
		if c.widens && *after.UDB <= *before.UDB {
			t.Errorf("%s: spread %v, was %v", c.name, *after.UDB, *before.UDB)
		}
		if c.widens || c.says == "" {
			if cost.LossDB != nil || cost.Says == "" {
				t.Errorf("%s: a loss is claimed: %+v", c.name, cost)
			}
			if *after.RwDB != *before.RwDB {
				t.Errorf("%s: Rw moved from %d to %d though its effect is not known", c.name, *before.RwDB, *after.RwDB)
			}
			continue
		}
		if cost.LossDB == nil || cost.WorthDB == nil || cost.UDB == nil || *cost.UDB < 0.5 {
			t.Errorf("%s: no cost: %+v", c.name, cost)
			continue
		}
		if *cost.LossDB < 0 || c.lowers && *cost.LossDB == 0 {
			t.Errorf("%s: costs %.1f dB: %s", c.name, *cost.LossDB, cost.Says)
		}
		// The only fault: what it costs is what putting it right is worth (arithmetic).
		if math.Abs(*cost.LossDB-*cost.WorthDB) > 1e-9 {
			t.Errorf("%s: costs %v, worth %v", c.name, *cost.LossDB, *cost.WorthDB)
		}
		d.record(`{"do":"put_right","over":"` + fault.ID + `","cause":"haste","hours":1}`)
		if s := d.job.Surface("C1"); len(d.job.Costs(s)) != 0 || *d.job.PredictSurface(s).AsFound.RwDB != *before.RwDB {
			t.Errorf("%s: still costs something after it was put right", c.name)
		}
	}
}

// A part of the area is summed as energy that passes, so missing wool over more of it costs more, and over all of it as
// much as no wool (arithmetic).
func TestMissingShareGrows(t *testing.T) {
	last := -1.0
	for _, area := range []string{"1", "4", "10", "15.12"} {
		d := newDevice(t, 1, jobs.Owner)
		d.start(house)
		complete(d)
		d.record(`{"do":"check","surface":"C1","layer":1,"check":"K16","result":"fail","measured":{"area_m2":` + area + `}}`)
		loss := d.job.Costs(d.job.Surface("C1"))[0].LossDB
		if loss == nil || *loss < last {
			t.Fatalf("%s m² without wool cost %v dB, fewer cost %v", area, loss, last)
		}
		last = *loss
	}
	d := newDevice(t, 1, jobs.Owner)
	d.start(strings.Replace(house, `{"kind":"fill_existing","existing":2,"fill":{"thickness_mm":100,"density_kg_m3":45}},`, "", 1))
	complete(d)
	bare := d.job.PredictSurface(d.job.Surface("C1")).Installed
	e := newDevice(t, 1, jobs.Owner)
	e.start(house)
	complete(e)
	e.record(`{"do":"check","surface":"C1","layer":1,"check":"K16","result":"fail","measured":{"area_m2":15.12}}`)
	if got := e.job.PredictSurface(e.job.Surface("C1")).AsFound; *got.RwDB != *bare.RwDB {
		t.Errorf("without any wool Rw %d, specified without wool %d", *got.RwDB, *bare.RwDB)
	}
}

// Two faults: putting one right beside the other is worth no more than it costs alone where both let sound through.
func TestCostBesideAnother(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	complete(d)
	d.record(`{"do":"check","surface":"C1","layer":3,"check":"K19","result":"fail","measured":{"count":140}}`)
	d.record(`{"do":"check","surface":"C1","layer":1,"check":"K16","result":"fail","measured":{"area_m2":15.12}}`)
	costs := d.job.Costs(d.job.Surface("C1"))
	if len(costs) != 2 {
		t.Fatalf("%d costs, want 2", len(costs))
	}
	for _, c := range costs {
		if c.LossDB == nil || c.WorthDB == nil || *c.WorthDB < 0 {
			t.Errorf("%s", c.Says)
		}
	}
	if d.job.Costs(d.job.Surface("F1")) == nil {
		t.Error("the floor on the same joists shares the partition and its faults")
	}
}
