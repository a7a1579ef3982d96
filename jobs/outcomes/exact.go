package outcomes

import "gonum.org/v1/gonum/stat/distuv"

// Exact returns the interval of Clopper and Pearson of a share of which events in n trials were seen: never less sure than
// its level, so wider than [Wilson].
//
//	low  = B(α/2; events, n-events+1)      0 where events = 0
//	high = B(1-α/2; events+1, n-events)    1 where events = n
//	B(p; a, b) the p-quantile of the beta distribution, α = 1 - level
//
// Source: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413. Checked: testdata/published/outcomes/shares.csv.
func Exact(events, n int, level float64) Interval {
	tail := (1 - level) / 2
	return Interval{exactLow(events, n, tail), exactHigh(events, n, tail)}
}

// AtMost returns the one-sided upper bound of a share: with 0 of n it is 1 - (1-level)^(1/n), so 13.9 % for 0 of 20 at 95 %.
// Source: as [Exact], one tail. Checked: testdata/published/outcomes/shares.csv.
func AtMost(events, n int, level float64) float64 { return exactHigh(events, n, 1-level) }

func exactLow(events, n int, tail float64) float64 {
	if events <= 0 || n <= 0 {
		return 0
	}
	return distuv.Beta{Alpha: float64(events), Beta: float64(n - events + 1)}.Quantile(tail)
}

func exactHigh(events, n int, tail float64) float64 {
	if events >= n || n <= 0 {
		return 1
	}
	return distuv.Beta{Alpha: float64(events + 1), Beta: float64(n - events)}.Quantile(1 - tail)
}
