package outcomes_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/jobs/outcomes"
)

func forecast(dntwCtr float64) jobs.Forecast {
	u := 4.0
	return jobs.Forecast{DnTwCtrDB: &dntwCtr, USiteDB: &u}
}

// The correction is the family's pooled mean; a family that was never measured gets what is known of all, and is less
// sure; other quantities are left alone.
func TestCorrect(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	w := newWorld(r, 6)
	s := outcomes.Summarise(w.firm(r, 400))
	for _, f := range s.Families {
		got := s.Correct(f.Code, forecast(46))
		p := f.Differences[0].Pooled
		if len(got) != 1 || got[0].Quantity != "dntw_ctr" || !near(got[0].CorrectedDB, 46+p.MeanDB, 1e-9) || got[0].UDB != p.NextSDDB || got[0].Jobs != f.Differences[0].Own.N {
			t.Errorf("%s: %+v, want a shift of %v", f.Code, got, p)
		}
		if !strings.Contains(got[0].Says, "predicted 46.0 dB ± 4.0 dB") {
			t.Errorf("it does not say what it changes: %s", got[0].Says)
		}
	}
	unseen := s.Correct("F-floating-1-joists", forecast(46))
	if len(unseen) != 1 || unseen[0].Jobs != 0 || !near(unseen[0].ByDB, s.Quantities[0].Overall.MeanDB, 1e-9) || unseen[0].UDB <= s.Families[0].Differences[0].Pooled.NextSDDB {
		t.Errorf("a family never measured: %+v", unseen)
	}
	if few := outcomes.Summarise(w.firm(r, 8)).Correct(w.families[0], forecast(46)); len(few) != 0 {
		t.Errorf("two measured jobs correct nothing: %+v", few)
	}
}

// Over many invented firms the next job of a family lies within two standard uncertainties of its corrected prediction in
// about 95 % of cases. Source: simulation, seeded.
func TestCorrectionIsWorthItsSpread(t *testing.T) {
	r := rand.New(rand.NewPCG(10, 10))
	in, all := 0, 0
	for range 60 {
		w := newWorld(r, 6)
		w.tested = 1
		s := outcomes.Summarise(w.firm(r, 40))
		for i, code := range w.families {
			c := s.Correct(code, forecast(46))
			if len(c) == 0 {
				t.Fatal("nothing to correct by")
			}
			next := 46 + w.theta[i] + w.sigma*r.NormFloat64()
			all++
			if near(next, c[0].CorrectedDB, 2*c[0].UDB) {
				in++
			}
		}
	}
	if share := float64(in) / float64(all); share < 0.92 || share > 0.985 {
		t.Errorf("%.3f of %d next jobs lie within two standard uncertainties", share, all)
	}
}
