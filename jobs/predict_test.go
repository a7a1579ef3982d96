package jobs_test

import (
	"strings"
	"testing"

	"tacet/jobs"
)

func notes(f jobs.Forecast) string { return strings.Join(f.Notes, "\n") }

// The three predictions are apart: nothing installed gives none, a complete install as specified gives the specified
// value, and an open perimeter costs something.
func TestForecastsAreApart(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	p := d.job.PredictSurface(d.job.Surface("C1"))
	if p.Specified.RwDB == nil {
		t.Fatalf("nothing predicted as specified: %v", p.Specified.Notes)
	}
	if p.Installed.RwDB != nil || p.AsFound.RwDB != nil {
		t.Fatal("predicted as installed before anything is")
	}
	if p.Specified.DnTwDB == nil || !strings.Contains(notes(p.Specified), "flanking is not known") {
		t.Errorf("with flanking unknown the value between rooms must say what it leaves out: %v", p.Specified.Notes)
	}
	if p.Specified.PMeets == nil || *p.Specified.PMeets <= 0 || *p.Specified.PMeets >= 1 {
		t.Errorf("chance of meeting the target: %v", p.Specified.PMeets)
	}
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
	q := d.job.PredictSurface(d.job.Surface("C1"))
	if q.Installed.RwDB == nil || *q.Installed.RwDB != *p.Specified.RwDB {
		t.Fatalf("installed as specified: %v, want %v (%v)", q.Installed.RwDB, *p.Specified.RwDB, q.Installed.Notes)
	}
	d.record(`{"do":"check","surface":"C1","layer":5,"check":"K28","result":"fail","measured":{"gap_mm":5,"length_m":15.6},"evidence":2}`)
	r := d.job.PredictSurface(d.job.Surface("C1"))
	if r.AsFound.RwDB == nil || *r.AsFound.RwDB > *q.Installed.RwDB {
		t.Errorf("as found %v, installed %v: an open perimeter can't help (%v)", r.AsFound.RwDB, *q.Installed.RwDB, r.AsFound.Notes)
	}
	if !strings.Contains(notes(r.AsFound), "slit of 5 mm by 15.6 m") {
		t.Errorf("as found does not say what it took: %v", r.AsFound.Notes)
	}
	d.record(`{"do":"check","surface":"C1","layer":3,"check":"K19","result":"fail","evidence":2}`)
	w := d.job.PredictSurface(d.job.Surface("C1"))
	if *w.AsFound.UDB <= *r.AsFound.UDB {
		t.Errorf("a fault of unknown effect must widen the spread: %v, was %v", *w.AsFound.UDB, *r.AsFound.UDB)
	}
}

// A layer that was not recorded leaves a hole: what is in place on top of it makes no partition.
func TestForecastNeedsEveryLayerBelow(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	d.record(`{"do":"install","surface":"C1","layer":1,"share":1}`)
	d.record(`{"do":"install","surface":"C1","layer":3,"share":1}`)
	f := d.job.PredictSurface(d.job.Surface("C1")).Installed
	if f.RwDB != nil || !strings.Contains(notes(f), "layer 2 is not recorded") {
		t.Errorf("predicted %v with layer 2 missing: %v", f.RwDB, f.Notes)
	}
}

func TestNoForecastWhereThereIsNone(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(`{"name":"pipe","surfaces":[{"code":"X1","kind":"pipe_run","length_m":2.6,"girth_m":0.5,"specified":[{"kind":"membrane","thickness_mm":5.3,"mass_kg_m2":10}]},
	 {"code":"W1","kind":"wall","width_m":4,"height_m":2.5}]}`)
	for _, s := range d.job.Surfaces {
		f := d.job.PredictSurface(s)
		if f.Specified.RwDB != nil || len(f.Specified.Notes) == 0 {
			t.Errorf("%s: %+v", s.Code, f.Specified)
		}
	}
}

func itoa(n int) string { return string(rune('0' + n)) }
