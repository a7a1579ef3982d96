package outcomes

import (
	"math"
	"slices"
)

// Slope is a straight line through values over time.
type Slope struct {
	N        int      `json:"n"`
	PerYear  float64  `json:"per_year"`
	Interval Interval `json:"interval_95"`
}

// leastSpan is how many years the values must cover before a slope per year is said. Ours.
const leastSpan = 0.5

// Drift fits value = a + b · years by least squares and returns b with its Student interval; nil with fewer than 5 points
// or where they cover less than half a year.
//
//	b = Σ(t-t̄)(y-ȳ) / Σ(t-t̄)²;  b ± t(1-α/2; n-2) · √(s²/Σ(t-t̄)²),  s² = Σ r²/(n-2)
//
// Source: least squares, any textbook; arithmetic. Checked: a line without scatter, and gonum's stat.LinearRegression.
func Drift(years, values []float64, level float64) *Slope {
	n := min(len(years), len(values))
	if n < FewestForRate {
		return nil
	}
	years, values = years[:n], values[:n]
	tm, tt := sumSquares(years)
	ym, _ := sumSquares(values)
	if slices.Max(years)-slices.Min(years) < leastSpan {
		return nil
	}
	var ty float64
	for i := range years {
		ty += (years[i] - tm) * (values[i] - ym)
	}
	b := ty / tt
	var rr float64
	for i := range years {
		r := values[i] - ym - b*(years[i]-tm)
		rr += r * r
	}
	half := studentQuantile(1-(1-level)/2, float64(n-2)) * math.Sqrt(rr/float64(n-2)/tt)
	return &Slope{N: n, PerYear: b, Interval: Interval{b - half, b + half}}
}
