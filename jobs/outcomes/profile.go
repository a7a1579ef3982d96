package outcomes

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// farOut is where a limit is no longer followed: an odds ratio of e^40 says no more than "no limit".
const farOut = 40.0

// Profile returns the interval of coefficient i by the profile of the penalised likelihood: all values whose best
// penalised log likelihood lies less than half the χ² quantile below the top. It need not be symmetric. Open tells that a
// side was not reached within ±40.
//
//	2 (l*(β̂) - max l*(β | β_i)) ≤ χ²(level; 1)
//
// Source: G. Heinze and M. Schemper, Statistics in Medicine 21 (2002) 2409-2419.
// Checked: testdata/published/outcomes/infection.csv.
func (f *Firth) Profile(i int, level float64) (limits Interval, open bool, err error) {
	want := math.Sqrt(distuv.ChiSquared{K: 1}.Quantile(level))
	low, openLow, err := f.limit(i, -1, want)
	if err != nil {
		return Interval{}, false, err
	}
	high, openHigh, err := f.limit(i, 1, want)
	if err != nil {
		return Interval{}, false, err
	}
	return Interval{low, high}, openLow || openHigh, nil
}

// limit follows the signed root of the likelihood ratio, which is nearly a straight line in the coefficient, until it
// reaches want: by the secant, kept between what is known to be inside and outside.
func (f *Firth) limit(i int, side, want float64) (at float64, open bool, err error) {
	beta := slices.Clone(f.Beta)
	root := func(v float64) (float64, error) {
		beta[i] = v
		log, _, err := f.climb(beta, i)
		if err != nil {
			return 0, err
		}
		return math.Sqrt(max(0, 2*(f.Log-log))), nil
	}
	inside, rInside := f.Beta[i], 0.0
	outside, rOutside := math.NaN(), math.NaN()
	v := f.Beta[i] + side*want*f.SE[i]
	for range 60 {
		if math.Abs(v) > farOut {
			v = side * farOut
		}
		r, err := root(v)
		if err != nil {
			return 0, false, err
		}
		if math.Abs(r-want) < 1e-5 {
			return v, false, nil
		}
		if r < want {
			if math.Abs(v) >= farOut {
				return v, true, nil
			}
			inside, rInside = v, r
		} else {
			outside, rOutside = v, r
		}
		switch {
		case math.IsNaN(outside):
			// Not far enough yet: go on along the line from the top, at least half as far again.
			stretch := want / max(r, want/4)
			v = f.Beta[i] + (v-f.Beta[i])*max(1.25, min(4, stretch*1.02))
		default:
			next := inside + (want-rInside)*(outside-inside)/(rOutside-rInside)
			// Near an end the secant crawls; then halve.
			if width := outside - inside; math.Abs(next-inside) < 1e-3*math.Abs(width) || math.Abs(outside-next) < 1e-3*math.Abs(width) {
				if math.Abs(width) < 1e-7 {
					return next, false, nil
				}
				next = inside + width/2
			}
			v = next
		}
	}
	return v, false, nil
}
