package outcomes

// Brier returns the mean squared distance between probabilities and what happened (1 event, 0 none): 0 is perfect, 0.25 is
// a coin. Nil without values.
//
//	B = Σ (p_i - y_i)² / n
//
// Source: G. W. Brier, Monthly Weather Review 78 (1950) 1-3.
func Brier(p []float64, happened []bool) *float64 {
	n := min(len(p), len(happened))
	if n == 0 {
		return nil
	}
	var sum float64
	for i := range n {
		d := p[i]
		if happened[i] {
			d--
		}
		sum += d * d
	}
	b := sum / float64(n)
	return &b
}
