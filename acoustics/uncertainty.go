package acoustics

import "math"

// ProbabilityMeets returns P, the probability that a value predicted with standard uncertainty u meets target, all in dB, by the normal
// law, with u 0 or more: Φ((predicted - target)/u), and for impact sound, where less is better, Φ((target - predicted)/u). With u = 0 it is 0 or 1.
// So 46 with u = 4 against 43 is 0.77. Source: arithmetic.
func ProbabilityMeets(predicted, target, u float64, impact bool) float64 {
	margin := predicted - target
	if impact {
		margin = -margin
	}
	if u <= 0 {
		if margin >= 0 {
			return 1
		}
		return 0
	}
	return 0.5 * math.Erfc(-margin/(u*math.Sqrt2))
}
