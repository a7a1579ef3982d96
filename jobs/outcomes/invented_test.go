package outcomes_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"tacet/jobs/outcomes"
)

// world is the truth behind an invented firm: what its families do, and what goes with trouble.
type world struct {
	families []string
	theta    []float64 // true mean difference of each family, dB
	sigma    float64   // between jobs of a family, dB
	base     float64   // log odds of a complaint at margin 3, evidence 2, no unseen, no failed check
	beta     [5]float64
	tested   float64 // share of jobs
	replies  float64
}

func newWorld(r *rand.Rand, families int) world {
	w := world{sigma: 2, base: -1.4, beta: [5]float64{-0.12, -0.3, 0.10, 0.2, 0.4}, tested: 0.25, replies: 0.7}
	for i := range families {
		w.families = append(w.families, fmt.Sprintf("W-clip-%dm-masonry", i+1))
		w.theta = append(w.theta, 1.5*r.NormFloat64())
	}
	return w
}

// odds of a complaint.
func (w world) odds(margin, evidence, unseen, failed, declined float64) float64 {
	return w.base + w.beta[0]*(margin-3) + w.beta[1]*(evidence-2) + w.beta[2]*unseen + w.beta[3]*failed + w.beta[4]*declined
}

// job invents one job of the firm.
func (w world) job(r *rand.Rand, n int) outcomes.Facts {
	family := r.IntN(len(w.families))
	begun := time.Date(2020, 1, 6, 8, 0, 0, 0, time.UTC).Add(time.Duration(n) * time.Hour)
	end := begun.Add(14 * 24 * time.Hour)
	margin, evidence := math.Round(3+3*r.NormFloat64()), float64(r.IntN(17))/4
	covered, unseen, failed := 5, 0, 0
	for range covered {
		if r.Float64() < 0.15 {
			unseen++
		}
	}
	for range 8 {
		if r.Float64() < 0.1 {
			failed++
		}
	}
	f := outcomes.Facts{Job: fmt.Sprintf("job-%06d", n), Name: fmt.Sprintf("Job %d", n), Finished: &end, Started: true}
	f.Parts = []outcomes.Part{{Surface: "W1", Family: outcomes.Family{Code: w.families[family], Words: w.families[family]}, Begun: begun,
		Fitter: fmt.Sprintf("fitter %d", r.IntN(40)), MarginDB: &margin, Frozen: true, Evidence: &evidence, Covered: covered, Unseen: unseen, Answered: 8, Failed: failed}}
	f.Checks = []outcomes.CheckCount{{Code: "K19", Stop: true, Answered: 4, Failed: min(failed, 4)}, {Code: "K26", Answered: 4, Failed: max(0, failed-4)}, {Code: "K01", Answered: 2}}
	declined := 0.0
	if r.Float64() < 0.2 {
		declined, f.Declined = 1, 1
	}
	if r.Float64() < w.tested {
		predicted, limit := 43+margin, 43.0
		f.Tests = []outcomes.Test{{Quantity: "dntw_ctr", At: end, Surface: "W1", Family: w.families[family], PredictedDB: &predicted, Frozen: true,
			LimitDB: &limit, MeasuredDB: predicted + w.theta[family] + w.sigma*r.NormFloat64()}}
	}
	f.Baseline = map[string]int{"voices": 6 + r.IntN(4)}
	if r.Float64() < 1/(1+math.Exp(-w.odds(margin, evidence, 10*float64(unseen)/float64(covered), float64(failed), declined))) {
		f.Complaints = []outcomes.Complained{{At: end.Add(time.Duration(r.IntN(300)*24) * time.Hour), Kind: "voices", Surface: "W1", Outcome: "ours_put_right", Cause: "not_built_as_specified"}}
		f.Cures = []outcomes.Cure{{Over: "complaint", Cause: "haste", Hours: 3, Late: true}}
	} else {
		for _, m := range []int{1, 3, 12} {
			f.FollowUps = append(f.FollowUps, outcomes.FollowUp{Month: m, NoReply: r.Float64() > w.replies, Answers: map[string]int{"voices": r.IntN(5)}})
		}
		for i := range f.FollowUps {
			if f.FollowUps[i].NoReply {
				f.FollowUps[i].Answers = nil
			}
		}
	}
	return f
}

func (w world) firm(r *rand.Rand, n int) []outcomes.Facts {
	fs := make([]outcomes.Facts, n)
	for i := range fs {
		fs[i] = w.job(r, i)
	}
	return fs
}
