package outcomes

import "math"

// Wilson returns the score interval of a share of which events in n trials were seen.
//
//	(p + z²/2n ± z √(p(1-p)/n + z²/4n²)) / (1 + z²/n),   p = events/n
//	events   0 to n
//	n        1 and up; 0 gives the whole range 0 to 1
//	level    two-sided confidence, above 0 and below 1
//
// It keeps its level well for small n and never leaves 0 to 1.
// Source: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212. Checked: testdata/published/outcomes/shares.csv.
func Wilson(events, n int, level float64) Interval {
	if n <= 0 {
		return Interval{0, 1}
	}
	z, m := twoSided(level), float64(n)
	p := float64(events) / m
	mid := p + z*z/(2*m)
	half := z * math.Sqrt(p*(1-p)/m+z*z/(4*m*m))
	scale := 1 + z*z/m
	i := Interval{(mid - half) / scale, (mid + half) / scale}
	// At the ends the formula gives 0 and 1 but for rounding.
	if events == 0 {
		i.Low = 0
	}
	if events == n {
		i.High = 1
	}
	return i
}
