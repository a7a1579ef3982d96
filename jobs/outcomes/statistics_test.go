package outcomes_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"tacet/jobs/outcomes"
)

func near(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance }

// The exact interval holds every share with at least its confidence; Wilson's holds it on average. Source: definition.
func TestIntervalsHold(t *testing.T) {
	for _, n := range []int{5, 12, 40} {
		var sum, count float64
		for p := 0.02; p < 0.99; p += 0.02 {
			var exact, wilson float64
			for k := range n + 1 {
				mass := distuv.Binomial{N: float64(n), P: p}.Prob(float64(k))
				if outcomes.Exact(k, n, 0.95).Holds(p) {
					exact += mass
				}
				if outcomes.Wilson(k, n, 0.95).Holds(p) {
					wilson += mass
				}
			}
			if exact < 0.95-1e-9 {
				t.Errorf("exact interval holds %.2f of n = %d with %.4f only", p, n, exact)
			}
			sum += wilson
			count++
		}
		if mean := sum / count; mean < 0.94 || mean > 0.975 {
			t.Errorf("Wilson holds with %.4f on average at n = %d", mean, n)
		}
	}
	if i := outcomes.Wilson(0, 0, 0.95); i.Low != 0 || i.High != 1 {
		t.Errorf("of nothing, nothing is known: %v", i)
	}
}

// The one-sided bound at 97.5 % is the upper end of the two-sided interval at 95 %. Source: arithmetic.
func TestOneSided(t *testing.T) {
	for k := range 13 {
		if a, b := outcomes.AtMost(k, 12, 0.975), outcomes.Exact(k, 12, 0.95).High; !near(a, b, 1e-9) {
			t.Errorf("%d of 12: %v and %v", k, a, b)
		}
	}
}

func TestMean(t *testing.T) {
	values := []float64{1.5, -0.4, 2.2, 0.9, 0.1, -1.3, 1.2}
	m := outcomes.MeanOf(values, 0.95)
	mean, sd := stat.MeanStdDev(values, nil)
	half := distuv.StudentsT{Sigma: 1, Nu: 6}.Quantile(0.975) * sd / math.Sqrt(7)
	if !near(*m.Mean, mean, 1e-12) || !near(*m.SD, sd, 1e-12) || !near(m.Interval.Low, mean-half, 1e-9) || !near(m.Interval.High, mean+half, 1e-9) {
		t.Errorf("%+v, want %v ± %v", m, mean, half)
	}
	if one := outcomes.MeanOf([]float64{3}, 0.95); *one.Mean != 3 || one.Interval != nil || one.SD != nil {
		t.Errorf("one value has no spread: %+v", one)
	}
	if none := outcomes.MeanOf(nil, 0.95); none.Mean != nil || none.N != 0 {
		t.Errorf("no value has no mean: %+v", none)
	}
}

func TestDrift(t *testing.T) {
	x, y := []float64{0, 0.5, 1, 2, 2.5, 4}, []float64{1, 0.6, 1.4, 2.9, 2.1, 4.4}
	s := outcomes.Drift(x, y, 0.95)
	_, b := stat.LinearRegression(x, y, nil, false)
	if s == nil || !near(s.PerYear, b, 1e-12) || !s.Interval.Holds(b) || s.Interval.Width() <= 0 {
		t.Fatalf("%+v, want slope %v", s, b)
	}
	line := outcomes.Drift(x, []float64{1, 2, 3, 5, 6, 9}, 0.95)
	if !near(line.PerYear, 2, 1e-12) || !near(line.Interval.Width(), 0, 1e-6) {
		t.Errorf("a line without scatter: %+v", line)
	}
	if outcomes.Drift(x[:4], y[:4], 0.95) != nil || outcomes.Drift([]float64{1, 1, 1, 1, 1}, y[:5], 0.95) != nil {
		t.Error("a slope from four points, or from one moment")
	}
}

// Blom's scores of five values. Source: arithmetic, Φ⁻¹ of 0.625/5.25, 1.625/5.25, 0.5.
func TestNormalScores(t *testing.T) {
	sorted, z := outcomes.NormalScores([]float64{3, 1, 5, 2, 4})
	want := []float64{-1.1798, -0.4972, 0, 0.4972, 1.1798}
	for i := range want {
		if sorted[i] != float64(i+1) || !near(z[i], want[i], 5e-4) {
			t.Errorf("value %d: %v at %v, want %v", i, sorted[i], z[i], want[i])
		}
	}
}

// Without censoring the curve is the plain share; its limits stay inside 0 to 1. Source: arithmetic.
func TestKaplanMeierEnds(t *testing.T) {
	var units []outcomes.Followed
	for i := range 4 {
		units = append(units, outcomes.Followed{Time: float64(i + 1), Event: true})
	}
	c := outcomes.KaplanMeier(units, 0.95)
	for i, want := range []float64{0.75, 0.5, 0.25, 0} {
		s := c.Steps[i]
		if !near(s.Free, want, 1e-12) || s.Limits.Low < 0 || s.Limits.High > 1 || !s.Limits.Holds(want) {
			t.Errorf("step %d: %+v, want %v", i, s, want)
		}
	}
	// Ten followed a year without a complaint: free, but no surer than the exact bound of 0 of 10, two-sided: 1 - 0.025^(1/10).
	calm := make([]outcomes.Followed, 10)
	for i := range calm {
		calm[i].Time = 12
	}
	c = outcomes.KaplanMeier(calm, 0.95)
	free, limits, known := c.At(12, calm)
	if !known || free != 1 || !near(limits.Low, math.Pow(0.025, 0.1), 1e-9) {
		t.Errorf("10 without an event: %v %v %v", free, limits, known)
	}
	if _, _, known := c.At(12.1, calm); known {
		t.Error("beyond the last follow-up nothing is known")
	}
}

// Lost from sight is neither good nor bad: of 2, one lost at 1 and one complaint at 2 gives 0 left of 1, not of 2.
func TestCensoredIsNoSuccess(t *testing.T) {
	c := outcomes.KaplanMeier([]outcomes.Followed{{Time: 1}, {Time: 2, Event: true}}, 0.95)
	if len(c.Steps) != 1 || c.Steps[0].AtRisk != 1 || c.Steps[0].Free != 0 {
		t.Errorf("%+v", c)
	}
}

func twoByTwo(a, b, c, d int) []outcomes.Pattern {
	return []outcomes.Pattern{{X: []float64{1, 0}, Events: a, N: a + b}, {X: []float64{1, 1}, Events: c, N: c + d}}
}

// On a 2 x 2 table Firth's estimate is the log odds ratio with one half added to each cell. Source: Heinze and Schemper
// 2002; closed form. Empty cells included, where the usual estimate is infinite.
func TestFirthTwoByTwo(t *testing.T) {
	for _, cells := range [][4]int{{3, 37, 9, 21}, {0, 20, 6, 14}, {0, 12, 12, 0}, {5, 5, 5, 5}, {1, 400, 0, 30}} {
		f, err := outcomes.FitFirth(twoByTwo(cells[0], cells[1], cells[2], cells[3]))
		if err != nil {
			t.Fatal(cells, err)
		}
		half := func(i int) float64 { return float64(cells[i]) + 0.5 }
		base, slope := math.Log(half(0)/half(1)), math.Log(half(2)/half(3))-math.Log(half(0)/half(1))
		if !near(f.Beta[0], base, 1e-6) || !near(f.Beta[1], slope, 1e-6) {
			t.Errorf("%v: %v, want %v %v", cells, f.Beta, base, slope)
		}
		l, _, err := f.Profile(1, 0.95)
		if err != nil || !l.Holds(f.Beta[1]) || l.Width() <= 0 || l.Width() > 80 {
			t.Errorf("%v: limits %v, %v", cells, l, err)
		}
	}
}

// At a limit of the interval, the best penalised likelihood over the other coefficient lies 1.92 below the top. For a
// 2 x 2 table that can be looked for by trying, without any of the fit's own steps. Source: definition.
func TestProfileByTrying(t *testing.T) {
	ps := twoByTwo(1, 19, 6, 14)
	f, err := outcomes.FitFirth(ps)
	if err != nil {
		t.Fatal(err)
	}
	penalised := func(b0, b1 float64) float64 {
		var log, ww [2]float64
		for i, p := range ps {
			pi := 1 / (1 + math.Exp(-b0-b1*p.X[1]))
			log[i] = float64(p.Events)*math.Log(pi) + float64(p.N-p.Events)*math.Log(1-pi)
			ww[i] = float64(p.N) * pi * (1 - pi)
		}
		// det of [[w0+w1, w1], [w1, w1]] is w0 w1.
		return log[0] + log[1] + math.Log(ww[0]*ww[1])/2
	}
	best := func(b1 float64) float64 {
		top := math.Inf(-1)
		for b0 := -12.0; b0 < 8; b0 += 0.001 {
			top = max(top, penalised(b0, b1))
		}
		return top
	}
	l, open, err := f.Profile(1, 0.95)
	if err != nil || open {
		t.Fatal(err, open)
	}
	for _, at := range []float64{l.Low, l.High} {
		if drop := f.Log - best(at); !near(drop, 3.841459/2, 1e-4) {
			t.Errorf("at %v the likelihood is %v below the top, want 1.9207", at, drop)
		}
	}
}

// With plenty of data the fit finds the truth it was made from, and separation leaves everything finite.
func TestFirthRecovers(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 1))
	truth := []float64{-1, 0.8, -0.5}
	var ps []outcomes.Pattern
	for range 20000 {
		x := []float64{1, r.NormFloat64(), r.NormFloat64()}
		e := 0
		if r.Float64() < 1/(1+math.Exp(-(truth[0]+truth[1]*x[1]+truth[2]*x[2]))) {
			e = 1
		}
		ps = append(ps, outcomes.Pattern{X: x, Events: e, N: 1})
	}
	f, err := outcomes.FitFirth(ps)
	if err != nil {
		t.Fatal(err)
	}
	for i, b := range truth {
		if !near(f.Beta[i], b, 4*f.SE[i]) || f.SE[i] > 0.05 {
			t.Errorf("coefficient %d: %v ± %v, want %v", i, f.Beta[i], f.SE[i], b)
		}
	}
	var apart []outcomes.Pattern
	for i := range 20 {
		e := 0
		if i >= 10 {
			e = 1
		}
		apart = append(apart, outcomes.Pattern{X: []float64{1, float64(i)}, Events: e, N: 1})
	}
	f, err = outcomes.FitFirth(apart)
	if err != nil || f.Beta[1] <= 0 || f.Beta[1] > 10 {
		t.Errorf("separated: %v, %v", f, err)
	}
	if _, err := outcomes.FitFirth([]outcomes.Pattern{{X: []float64{1, 2}, N: 5, Events: 2}, {X: []float64{1, 2}, N: 9, Events: 2}}); err == nil {
		t.Error("a covariate that never changes was fitted")
	}
}

// Source: arithmetic.
func TestBrierAndCalibration(t *testing.T) {
	b := outcomes.Brier([]float64{0.9, 0.2, 0.5}, []bool{true, false, true})
	if !near(*b, (0.01+0.04+0.25)/3, 1e-12) {
		t.Errorf("Brier %v", *b)
	}
	if outcomes.Brier(nil, nil) != nil {
		t.Error("a score of nothing")
	}
	r := rand.New(rand.NewPCG(3, 9))
	var p []float64
	var y []bool
	for range 5000 {
		v := r.Float64()
		p = append(p, v)
		y = append(y, r.Float64() < v)
	}
	n := 0
	for _, g := range outcomes.Calibration(p, y, 10, 5) {
		n += g.N
		if !near(g.Observed, g.Predicted, 0.08) {
			t.Errorf("group at %.2f observed %.2f", g.Predicted, g.Observed)
		}
	}
	if n != 5000 {
		t.Errorf("%d units in the groups, want 5000", n)
	}
	if len(outcomes.Calibration(p[:9], y[:9], 10, 5)) != 0 {
		t.Error("nine units make no plot")
	}
}

func TestRate(t *testing.T) {
	few := outcomes.RateOf(1, 4, 3)
	if few.Share != nil || few.Bounds.Low != 1.0/7 || few.Bounds.High != 4.0/7 {
		t.Errorf("below five no share, and the unknown widen the bounds: %+v", few)
	}
	r := outcomes.RateOf(1, 7, 0)
	if r.Share == nil || !near(r.Exact.Low, 0.0036, 5e-5) || !near(r.Exact.High, 0.5787, 5e-5) {
		t.Errorf("1 of 7 is 0.4 to 58 %%: %+v", r)
	}
}
