package outcomes

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Mean is the mean of n values with what is known of it, in the unit of the values. What n is too small for is nil: the
// spread below 2.
type Mean struct {
	N        int       `json:"n"`
	Mean     *float64  `json:"mean"`
	SD       *float64  `json:"sd"` // spread of single values
	SE       *float64  `json:"se"` // standard error of the mean
	Interval *Interval `json:"interval_95"`
}

// MeanOf returns mean, spread and Student interval of values.
//
//	x̄ ± t(1-α/2; n-1) · s/√n,   s² = Σ(x-x̄)²/(n-1)
//
// Source: Student, Biometrika 6 (1908) 1-25. Checked: against gonum's quantiles and the sleep data of that paper.
func MeanOf(values []float64, level float64) Mean {
	m := Mean{N: len(values)}
	if m.N == 0 {
		return m
	}
	mean, ss := sumSquares(values)
	return meanFrom(m.N, mean, ss, level)
}

// meanFrom is the mean of n values with the sum of squared distances from it.
func meanFrom(n int, mean, ss, level float64) Mean {
	m := Mean{N: n, Mean: &mean}
	if m.N < 2 {
		return m
	}
	sd := math.Sqrt(ss / float64(m.N-1))
	se := sd / math.Sqrt(float64(m.N))
	half := studentQuantile(1-(1-level)/2, float64(m.N-1)) * se
	m.SD, m.SE, m.Interval = &sd, &se, &Interval{mean - half, mean + half}
	return m
}

// sumSquares returns the mean and the sum of squared distances from it, in two passes for the sake of accuracy.
func sumSquares(values []float64) (mean, ss float64) {
	for _, v := range values {
		mean += v
	}
	mean /= float64(len(values))
	for _, v := range values {
		ss += (v - mean) * (v - mean)
	}
	return mean, ss
}

// studentQuantile is the p-quantile of Student's t with df degrees of freedom.
func studentQuantile(p, df float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(p)
}
