package outcomes

// Paired returns the mean of after less before over pairs, with its Student interval: each pair is its own comparison, so
// what differs between people drops out. Both slices have one length; what is beyond the shorter is left out.
//
//	d = after - before;  d̄ ± t(1-α/2; n-1) · s_d/√n
//
// Source: Student, Biometrika 6 (1908) 1-25. Checked: the sleep data of that paper, testdata/published/outcomes/means.csv.
func Paired(before, after []float64, level float64) Mean {
	d := make([]float64, min(len(before), len(after)))
	for i := range d {
		d[i] = after[i] - before[i]
	}
	return MeanOf(d, level)
}
