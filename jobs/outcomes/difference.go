package outcomes

import "math"

// Difference is a share less another, with its interval.
type Difference struct {
	Difference float64  `json:"difference"`
	Interval   Interval `json:"interval"`
	Level      float64  `json:"level"`
}

// DifferenceOf returns the share a of n less the share b of m, with Newcombe's interval from the two score intervals.
//
//	d - √((p1-l1)² + (u2-p2)²)  to  d + √((u1-p1)² + (p2-l2)²)
//
// Source: R. G. Newcombe, Statistics in Medicine 17 (1998) 873-890, method 10. Checked: testdata/published/outcomes/shares.csv.
func DifferenceOf(a, n, b, m int, level float64) Difference {
	if n == 0 || m == 0 {
		return Difference{0, Interval{-1, 1}, level}
	}
	p1, p2 := float64(a)/float64(n), float64(b)/float64(m)
	w1, w2 := Wilson(a, n, level), Wilson(b, m, level)
	d := p1 - p2
	return Difference{d, Interval{d - math.Hypot(p1-w1.Low, w2.High-p2), d + math.Hypot(w1.High-p1, p2-w2.Low)}, level}
}
