package outcomes

import "slices"

// NormalScores returns for each value, smallest first, where it would stand if the values came from a normal law: the
// straighter the line of value against score, the more normal they are.
//
//	z_i = Φ⁻¹((i - 3/8)/(n + 1/4)),   i = 1 … n
//
// Source: G. Blom, Statistical Estimates and Transformed Beta-Variables, 1958.
func NormalScores(values []float64) (sorted, scores []float64) {
	sorted = slices.Sorted(slices.Values(values))
	scores = make([]float64, len(sorted))
	for i := range scores {
		scores[i] = normalQuantile((float64(i+1) - 0.375) / (float64(len(sorted)) + 0.25))
	}
	return sorted, scores
}
