package outcomes_test

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"

	"tacet/jobs/outcomes"
)

var deep = flag.Bool("deep", false, "simulate 1,000 invented firms in place of 100")

// firm is an invented firm with known truth.
type firm struct {
	truth  []float64
	values [][]float64
}

// invent makes a firm: 4 to 12 families, every second of three jobs, the others of 2 to 20; family means spread by 0.5 to
// 3 dB, jobs within a family by 1 to 3 dB.
func invent(r *rand.Rand) firm {
	var f firm
	tau, sigma := 0.5+2.5*r.Float64(), 1+2*r.Float64()
	for i := range 4 + r.IntN(9) {
		theta, n := -0.5+tau*r.NormFloat64(), 3
		if i%2 == 1 {
			n = 2 + r.IntN(19)
		}
		var vs []float64
		for range n {
			vs = append(vs, theta+sigma*r.NormFloat64())
		}
		f.truth, f.values = append(f.truth, theta), append(f.values, vs)
	}
	return f
}

// The 95 % intervals hold the truth in 93 to 97 % of families, those of three jobs by themselves included. A plain empirical
// Bayes interval, one estimate of the spread put in, is counted beside it and is too narrow. Source: simulation, seeded.
func TestPoolCovers(t *testing.T) {
	firms, slack := 100, 0.01
	if *deep {
		firms, slack = 1000, 0
	}
	r := rand.New(rand.NewPCG(2026, 11))
	var held, all, heldThree, three, plain int
	for range firms {
		f := invent(r)
		p := outcomes.Pool(f.values, 0.95)
		for i, truth := range f.truth {
			in := p.Families[i].Interval.Holds(truth)
			all++
			if in {
				held++
			}
			if len(f.values[i]) == 3 {
				three++
				if in {
					heldThree++
				}
				if plugIn(f.values)[i].Holds(truth) {
					plain++
				}
			}
		}
	}
	share := func(a, b int) float64 { return float64(a) / float64(b) }
	t.Logf("%d firms: %.3f of %d families, %.3f of %d families of three; plugged in: %.3f", firms, share(held, all), all, share(heldThree, three), three, share(plain, three))
	for _, s := range []float64{share(held, all), share(heldThree, three)} {
		if s < 0.93-slack || s > 0.97+slack {
			t.Errorf("intervals hold the truth in %.3f, want 0.93 to 0.97", s)
		}
	}
	if share(plain, three) > share(heldThree, three)-0.01 {
		t.Errorf("plugging in is not seen to be narrower: %.3f and %.3f", share(plain, three), share(heldThree, three))
	}
}

// plugIn is empirical Bayes without a correction: moments for both spreads, normal quantiles.
func plugIn(families [][]float64) []outcomes.Interval {
	var ss, df, mu, between, harmonic float64
	means := make([]float64, len(families))
	for i, f := range families {
		m := outcomes.MeanOf(f, 0.95)
		means[i] = *m.Mean
		ss += *m.SD * *m.SD * float64(m.N-1)
		df += float64(m.N - 1)
		mu += means[i] / float64(len(families))
		harmonic += 1 / float64(m.N) / float64(len(families))
	}
	for _, m := range means {
		between += (m - mu) * (m - mu) / float64(len(means)-1)
	}
	tau2 := max(0, between-ss/df*harmonic)
	out := make([]outcomes.Interval, len(families))
	for i, f := range families {
		v := ss / df / float64(len(f))
		b := v / (v + tau2)
		mean, half := (1-b)*means[i]+b*mu, 1.959964*math.Sqrt((1-b)*v)
		out[i] = outcomes.Interval{Low: mean - half, High: mean + half}
	}
	return out
}

// Families that are truly equal are drawn together and families far apart keep their own means.
func TestPoolShrinks(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	make2 := func(apart float64) [][]float64 {
		var fs [][]float64
		for i := range 8 {
			var f []float64
			for range 3 {
				f = append(f, apart*float64(i)+r.NormFloat64())
			}
			fs = append(fs, f)
		}
		return fs
	}
	same, far := outcomes.Pool(make2(0), 0.95), outcomes.Pool(make2(10), 0.95)
	for i := range same.Families {
		if s := same.Families[i]; s.Own > 0.6 || math.Abs(s.Mean-same.Overall) > math.Abs(s.Raw-same.Overall) {
			t.Errorf("equal family %d is not drawn in: %+v", i, s)
		}
		if f := far.Families[i]; f.Own < 0.97 || !near(f.Mean, f.Raw, 0.2) {
			t.Errorf("family %d, far from the others, does not keep its mean: %+v", i, f)
		}
	}
	// A family without jobs stands where all stand, and is less sure than any with.
	with := outcomes.Pool(append(make2(1), nil), 0.95)
	if last := with.Families[8]; !near(last.Mean, with.Overall, 1e-6) || last.SD < with.Families[0].SD || last.Own != 0 {
		t.Errorf("family without values: %+v", last)
	}
}

// Four families whose means spread by about 3.5 dB: what is said of the spread between them, and of a family not yet seen,
// stays of that size, and does not follow the end of the grid. Source: arithmetic; the bounds are wide on purpose.
func TestFourFamiliesSpread(t *testing.T) {
	p := outcomes.Pool([][]float64{{4, 2, 7}, {-1, -3, 0, -1}, {6, 8, 5, 7}, {6, 4, 7, 5, 6}}, 0.95)
	if p.Between < 2 || p.Between > 10 || p.New.NextSD < 2 || p.New.NextSD > 20 {
		t.Errorf("spread between families %.1f dB, next job of a new family ± %.1f dB", p.Between, p.New.NextSD)
	}
}

// With few families nothing is pooled: each has Student's interval with the spread common to all. Source: arithmetic.
func TestFewFamiliesStayAlone(t *testing.T) {
	p := outcomes.Pool([][]float64{{1, 2, 3}, {5, 7, 9}}, 0.95)
	// s² = (2 + 8)/4 = 2.5, t(0.975; 4) = 2.776445.
	half := 2.776445 * math.Sqrt(2.5/3)
	if p.Partly || !near(p.Families[0].Interval.High, 2+half, 1e-5) || p.Families[1].Mean != 7 {
		t.Errorf("%+v", p)
	}
	if alone := outcomes.Pool([][]float64{{1}}, 0.95).Families[0]; !math.IsInf(alone.Interval.High, 1) {
		t.Errorf("one value in one family says nothing of its spread: %+v", alone)
	}
	outcomes.Pool(nil, 0.95)
	outcomes.Pool([][]float64{{1}, {1}, {1}, {1}, {1}}, 0.95)
	if same := outcomes.Pool([][]float64{{1, 1}, {1, 1}, {1, 1}, {1, 1}}, 0.95); same.Families[0].Mean != 1 {
		t.Errorf("values without scatter: %+v", same.Families[0])
	}
}
