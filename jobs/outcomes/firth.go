package outcomes

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// ErrNoFit is a regression that found no answer: collinear covariates, or no way uphill.
var ErrNoFit = errors.New("the regression found no answer")

// Pattern is a group of units that share all covariates: Events of N had the event. X starts with 1 for the intercept.
type Pattern struct {
	X      []float64
	Events int
	N      int
}

// Firth is a logistic regression with Firth's penalty.
type Firth struct {
	Beta []float64 // log odds, intercept first
	SE   []float64 // from the information at Beta
	Log  float64   // penalised log likelihood

	patterns []Pattern
}

// FitFirth fits log odds = x'β by the likelihood times the root of its information (Jeffreys' prior).
//
//	l*(β) = Σ [y ln π + (N-y) ln(1-π)] + ½ ln det I(β),   I = X'WX,  W = diag(N π(1-π))
//	score  Σ x [y - Nπ + h(½ - π)],   h the diagonal of W^½X I⁻¹X'W^½
//
// The estimate is finite even where a covariate separates events from the rest, and nearly free of first-order bias. On a
// 2 x 2 table it is the log odds ratio with one half added to each cell.
// Sources: D. Firth, Biometrika 80 (1993) 27-38; G. Heinze and M. Schemper, Statistics in Medicine 21 (2002) 2409-2419.
// Checked: closed form of the 2 x 2 table; testdata/published/outcomes/infection.csv.
func FitFirth(patterns []Pattern) (*Firth, error) {
	if len(patterns) == 0 {
		return nil, ErrNoFit
	}
	return fitFrom(patterns, make([]float64, len(patterns[0].X)))
}

// fitFrom starts at beta: what was fitted to nearly the same data is nearly there.
func fitFrom(patterns []Pattern, beta []float64) (*Firth, error) {
	if len(patterns) == 0 {
		return nil, ErrNoFit
	}
	f := &Firth{patterns: patterns}
	log, info, err := f.climb(beta, -1)
	if err != nil {
		return nil, err
	}
	f.Beta, f.Log, f.SE = beta, log, make([]float64, len(beta))
	for i := range f.SE {
		f.SE[i] = math.Sqrt(info.At(i, i))
	}
	return f, nil
}

// Probability of the event for covariates x, intercept included.
func (f *Firth) Probability(x []float64) float64 { return logistic(dot(x, f.Beta)) }

func logistic(eta float64) float64 { return 1 / (1 + math.Exp(-eta)) }

func dot(a, b []float64) float64 {
	var s float64
	for i := range a {
		s += a[i] * b[i]
	}
	return s
}

// Limits of one Newton climb. Steps are cut to maxStep in each coefficient, as the reference implementation does.
const (
	maxClimb = 60
	maxStep  = 5.0
	flat     = 1e-7
)

// climb moves beta to the top of l*, leaving coefficient held where it is (-1: none), and returns l* and the inverse
// information there.
func (f *Firth) climb(beta []float64, held int) (float64, *mat.SymDense, error) {
	p := len(beta)
	w := newFirthWork(p, len(f.patterns))
	log, err := w.logLik(f.patterns, beta)
	if err != nil {
		return 0, nil, err
	}
	next := make([]float64, p)
	for range maxClimb {
		w.score(f.patterns)
		step := w.step(held)
		if step == nil {
			return 0, nil, ErrNoFit
		}
		var most float64
		for _, s := range step {
			most = max(most, math.Abs(s))
		}
		if most < flat {
			return log, w.inverse, nil
		}
		cut := min(1, maxStep/most)
		improved := false
		for range 30 {
			for i := range next {
				next[i] = beta[i] + cut*step[i]
			}
			nextLog, err := w.logLik(f.patterns, next)
			if err == nil && nextLog >= log-1e-12 {
				copy(beta, next)
				log, improved = nextLog, true
				break
			}
			cut /= 2
		}
		if !improved {
			// Not uphill by rounding alone: the top is here.
			if _, err := w.logLik(f.patterns, beta); err != nil {
				return 0, nil, err
			}
			if most < 1e-3 {
				return log, w.inverse, nil
			}
			return 0, nil, ErrNoFit
		}
	}
	return 0, nil, ErrNoFit
}

// firthWork holds what one climb computes again and again.
type firthWork struct {
	info    *mat.SymDense
	inverse *mat.SymDense
	chol    mat.Cholesky
	u       []float64 // penalised score
	pi      []float64 // by pattern
}

func newFirthWork(p, patterns int) *firthWork {
	return &firthWork{info: mat.NewSymDense(p, nil), inverse: mat.NewSymDense(p, nil), u: make([]float64, p), pi: make([]float64, patterns)}
}

// logLik computes l* at beta and leaves information and its inverse behind.
func (w *firthWork) logLik(patterns []Pattern, beta []float64) (float64, error) {
	p := len(beta)
	raw := make([]float64, p*p)
	var log float64
	for at, g := range patterns {
		eta := dot(g.X, beta)
		// ln π and ln(1-π) without loss far out: one of them is -ln(1+e), the other that less |η|.
		e := math.Exp(-math.Abs(eta))
		rare, pi := g.Events, e/(1+e)
		if eta > 0 {
			rare, pi = g.N-g.Events, 1/(1+e)
		}
		log -= float64(g.N)*math.Log1p(e) + float64(rare)*math.Abs(eta)
		w.pi[at] = pi
		weight := float64(g.N) * e / ((1 + e) * (1 + e))
		for i := range p {
			v := weight * g.X[i]
			for k := i; k < p; k++ {
				raw[i*p+k] += v * g.X[k]
			}
		}
	}
	for i := range p {
		for k := i; k < p; k++ {
			w.info.SetSym(i, k, raw[i*p+k])
		}
	}
	if !w.chol.Factorize(w.info) {
		return 0, ErrNoFit
	}
	if err := w.chol.InverseTo(w.inverse); err != nil {
		return 0, ErrNoFit
	}
	log += w.chol.LogDet() / 2
	if math.IsNaN(log) || math.IsInf(log, 0) {
		return 0, ErrNoFit
	}
	return log, nil
}

// score computes the penalised score where logLik was computed last.
func (w *firthWork) score(patterns []Pattern) {
	p := len(w.u)
	clear(w.u)
	inv := w.inverse.RawSymmetric().Data
	for at, g := range patterns {
		pi := w.pi[at]
		var quad float64
		for i := range p {
			quad += g.X[i] * g.X[i] * inv[i*p+i]
			for k := i + 1; k < p; k++ {
				quad += 2 * g.X[i] * g.X[k] * inv[i*p+k]
			}
		}
		h := float64(g.N) * pi * (1 - pi) * quad
		r := float64(g.Events) - float64(g.N)*pi + h*(0.5-pi)
		for i := range p {
			w.u[i] += g.X[i] * r
		}
	}
}

// step is the Newton step I⁻¹u, with coefficient held left out of both; nil where there is none.
func (w *firthWork) step(held int) []float64 {
	p := len(w.u)
	step := make([]float64, p)
	if held < 0 {
		for i := range p {
			for k := range p {
				step[i] += w.inverse.At(i, k) * w.u[k]
			}
		}
		return step
	}
	if p == 1 {
		return step
	}
	sub := mat.NewSymDense(p-1, nil)
	u := mat.NewVecDense(p-1, nil)
	at := func(i int) int {
		if i >= held {
			return i + 1
		}
		return i
	}
	for i := range p - 1 {
		u.SetVec(i, w.u[at(i)])
		for k := i; k < p-1; k++ {
			sub.SetSym(i, k, w.info.At(at(i), at(k)))
		}
	}
	var c mat.Cholesky
	if !c.Factorize(sub) {
		return nil
	}
	var d mat.VecDense
	if err := c.SolveVecTo(&d, u); err != nil {
		return nil
	}
	for i := range p - 1 {
		step[at(i)] = d.AtVec(i)
	}
	return step
}
