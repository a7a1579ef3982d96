package outcomes

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// FewestFamilies is how many families with values are needed before they are pooled: with fewer, how much families differ
// is anybody's guess (under the prior used here the posterior does not even exist).
const FewestFamilies = 4

// Pooled is the mean of each family, drawn towards the mean of all by as much as the data warrant.
type Pooled struct {
	Families []PooledMean
	// Partly is false with fewer than FewestFamilies families, or where no family has two values: nothing is pooled then.
	Partly bool
	// Within is the spread of single values in a family, Between that of the true family means; in the unit of the values.
	Within, Between float64
	// Overall is the mean of the families' true means.
	Overall  float64
	Interval Interval
	// New is what is known of a family without values; only where Partly.
	New PooledMean
}

// PooledMean is one family of them.
type PooledMean struct {
	N        int
	Raw      float64 // the family's own mean
	Mean     float64
	SD       float64 // of the true mean, all uncertainty included
	Interval Interval
	// Own is the weight that the family's own mean has, 0 to 1.
	Own float64
	// NextSD is the spread of the next single value of the family about Mean.
	NextSD float64
}

// The grid over what the data leave open: spread between families, and within.
const (
	betweenNodes = 40
	withinNodes  = 15
)

// node is one pair of spreads with its weight and what it makes of the overall mean.
type node struct {
	within, between float64 // variances
	weight          float64
	mu, muVar       float64
}

// Pool estimates the true mean of each family of values in a normal model with two levels.
//
//	d_ij ~ N(θ_i, σ²)      value j of family i
//	θ_i  ~ N(μ, τ²)        families
//	given σ², τ²:  θ̂_i = (1-B_i) d̄_i + B_i μ̂,   B_i = V_i/(V_i+τ²),   V_i = σ²/n_i
//	               var   = (1-B_i) V_i + B_i² var(μ̂)
//
// Plain empirical Bayes would put one estimate of τ² in and give intervals that are too narrow with few or small families,
// most of all where the estimate is 0. Small-sample correction: the estimates are averaged over what the data leave open
// about τ² (likelihood after integrating out μ, under Stein's harmonic prior, flat in τ²) and about σ² (from the spread
// within families, with all their degrees of freedom). That adds the variance of the shrinkage, which C. N. Morris, J. Am.
// Stat. Assoc. 78 (1983) 47-55 added by hand, and follows C. N. Morris and R. Tang, Statistical Science 26 (2011) 271-287,
// with the integrals done by quadrature. σ² is taken as common to all families: with three values each, families can't
// show their own.
//
// Families without values stay at what is known of all. Checked: by simulation, families of three included; equal families
// against the formulas at fixed σ² and τ².
func Pool(families [][]float64, level float64) Pooled {
	p := Pooled{Families: make([]PooledMean, len(families))}
	var ss, df, cells float64
	for i, f := range families {
		p.Families[i].N = len(f)
		if len(f) == 0 {
			continue
		}
		mean, s := sumSquares(f)
		p.Families[i].Raw, p.Families[i].Mean = mean, mean
		ss += s
		df += float64(len(f) - 1)
		cells++
	}
	if df > 0 {
		p.Within = math.Sqrt(ss / df)
	}
	if cells < FewestFamilies || df < 1 || ss <= 0 {
		p.alone(df, level)
		return p
	}
	p.Partly = true
	nodes := p.nodes(ss, df)
	p.overall(nodes, level)
	for i := range p.Families {
		p.Families[i].pool(nodes, level)
	}
	p.New.pool(nodes, level)
	return p
}

// alone gives each family its own mean, with Student's interval from the spread common to all families.
func (p *Pooled) alone(df, level float64) {
	for i := range p.Families {
		f := &p.Families[i]
		f.Interval, f.Own = Interval{math.Inf(-1), math.Inf(1)}, 1
		if f.N == 0 || df < 1 {
			continue
		}
		f.SD = p.Within / math.Sqrt(float64(f.N))
		half := studentQuantile(1-(1-level)/2, df) * f.SD
		f.Interval, f.NextSD = Interval{f.Mean - half, f.Mean + half}, math.Hypot(f.SD, p.Within)
	}
}

// nodes lays the grid and weighs it.
func (p *Pooled) nodes(ss, df float64) []node {
	// The scale of τ: what the family means show, or the standard error of a middling family, whichever is larger.
	var means []float64
	var harmonic float64
	for _, f := range p.Families {
		if f.N > 0 {
			means = append(means, f.Raw)
			harmonic += 1 / float64(f.N)
		}
	}
	_, between := sumSquares(means)
	between /= float64(len(means) - 1)
	typical := ss / df * harmonic / float64(len(means))
	scale := math.Sqrt(max(between, typical))
	chi := distuv.ChiSquared{K: df}
	nodes := make([]node, 0, withinNodes*betweenNodes)
	top := math.Inf(-1)
	for w := range withinNodes {
		// Nodes of equal probability under the spread within families alone.
		within := ss / chi.Quantile((float64(w)+0.5)/withinNodes)
		for b := range betweenNodes {
			// τ from 0 to ∞ as scale · u/(1-u); dτ² = 2τ dτ.
			u := (float64(b) + 0.5) / betweenNodes
			tau := scale * u / (1 - u)
			n := node{within: within, between: tau * tau}
			n.weight = p.logMarginal(&n) + math.Log(2*tau*scale/((1-u)*(1-u)))
			top = max(top, n.weight)
			nodes = append(nodes, n)
		}
	}
	var total float64
	for i := range nodes {
		nodes[i].weight = math.Exp(nodes[i].weight - top)
		total += nodes[i].weight
	}
	kept := nodes[:0]
	for _, n := range nodes {
		if n.weight /= total; n.weight > 1e-7 {
			kept = append(kept, n)
		}
	}
	return kept
}

// logMarginal is the log likelihood of the family means with μ integrated out, and leaves μ̂ and its variance in n.
func (p *Pooled) logMarginal(n *node) float64 {
	var precision, sum, log float64
	for _, f := range p.Families {
		if f.N == 0 {
			continue
		}
		w := 1 / (n.within/float64(f.N) + n.between)
		precision += w
		sum += w * f.Raw
		log += math.Log(w) / 2
	}
	n.mu, n.muVar = sum/precision, 1/precision
	for _, f := range p.Families {
		if f.N == 0 {
			continue
		}
		w := 1 / (n.within/float64(f.N) + n.between)
		log -= w * (f.Raw - n.mu) * (f.Raw - n.mu) / 2
	}
	return log - math.Log(precision)/2
}

// overall averages what concerns all families.
func (p *Pooled) overall(nodes []node, level float64) {
	var within float64
	var m mixture
	for _, n := range nodes {
		within += n.weight * n.within
		m.add(n.weight, n.mu, n.muVar)
	}
	p.Within, p.Between = math.Sqrt(within), math.Sqrt(medianBetween(nodes))
	p.Overall, p.Interval = m.mean(), m.interval(level)
}

// medianBetween is the middle of what is known of τ². With four or five families its mean is infinite under the flat prior,
// so that a mean over the grid would only say where the grid ends.
func medianBetween(nodes []node) float64 {
	sorted := slices.SortedFunc(slices.Values(nodes), func(a, b node) int { return cmp.Compare(a.between, b.between) })
	var all, sum float64
	for _, n := range sorted {
		all += n.weight
	}
	for _, n := range sorted {
		if sum += n.weight; sum >= all/2 {
			return n.between
		}
	}
	return 0
}

// oneSigma is the share of a normal law within one standard deviation.
const oneSigma = 0.6826894921370859

func (f *PooledMean) pool(nodes []node, level float64) {
	var m mixture
	var within float64
	f.Own = 0
	for _, n := range nodes {
		shrink := 1.0
		var v float64
		if f.N > 0 {
			v = n.within / float64(f.N)
			shrink = v / (v + n.between)
		} else {
			v = n.between
		}
		mean := (1-shrink)*f.Raw + shrink*n.mu
		variance := (1-shrink)*v + shrink*shrink*n.muVar
		if f.N == 0 {
			variance = n.between + n.muVar
		}
		m.add(n.weight, mean, variance)
		within += n.weight * n.within
		f.Own += n.weight * (1 - shrink)
	}
	f.Mean, f.SD, f.Interval = m.mean(), m.sd(), m.interval(level)
	if f.N == 0 {
		// The variance is infinite with few families, as that of τ² is; half the middle 68 % is not.
		middle := m.interval(oneSigma)
		f.SD = (middle.High - middle.Low) / 2
	}
	f.NextSD = math.Sqrt(f.SD*f.SD + within)
}

// mixture is a weighted sum of normal laws.
type mixture struct{ weight, mu, sigma []float64 }

func (m *mixture) add(weight, mu, variance float64) {
	m.weight = append(m.weight, weight)
	m.mu = append(m.mu, mu)
	m.sigma = append(m.sigma, math.Sqrt(variance))
}

func (m *mixture) mean() float64 { return dot(m.weight, m.mu) }

func (m *mixture) sd() float64 {
	mean, v := m.mean(), 0.0
	for i, w := range m.weight {
		d := m.mu[i] - mean
		v += w * (m.sigma[i]*m.sigma[i] + d*d)
	}
	return math.Sqrt(v)
}

// interval cuts the same share off both tails.
func (m *mixture) interval(level float64) Interval {
	tail := (1 - level) / 2
	return Interval{m.quantile(tail), m.quantile(1 - tail)}
}

// quantile by Newton's method, kept within a bracket.
func (m *mixture) quantile(p float64) float64 {
	mean, sd := m.mean(), m.sd()
	low, high := mean-40*sd, mean+40*sd
	x := mean + sd*normalQuantile(p)
	for range 60 {
		var cdf, pdf float64
		for i, w := range m.weight {
			z := (x - m.mu[i]) / m.sigma[i]
			cdf += w * 0.5 * math.Erfc(-z/math.Sqrt2)
			pdf += w * math.Exp(-z*z/2) / (m.sigma[i] * math.Sqrt(2*math.Pi))
		}
		miss := cdf - p
		if math.Abs(miss) < 1e-9 {
			return x
		}
		if miss > 0 {
			high = x
		} else {
			low = x
		}
		next := x - miss/pdf
		if !(next > low && next < high) {
			next = (low + high) / 2
		}
		if math.Abs(next-x) < 1e-9*sd {
			return next
		}
		x = next
	}
	return x
}
