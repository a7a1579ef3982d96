package outcomes

import "slices"

// CalibrationGroup is a group of units to which about the same probability was given, beside what happened to them.
type CalibrationGroup struct {
	N         int      `json:"n"`
	Predicted float64  `json:"predicted"` // mean probability
	Events    int      `json:"events"`
	Observed  float64  `json:"observed"`
	Limits    Interval `json:"interval_95"` // Wilson, of the observed share
}

// Calibration sorts units by probability and cuts them into at most groups parts of equal size, each of at least least
// units. Well calibrated means that Predicted lies within Limits nearly everywhere.
// Source: the usual reliability diagram; the interval of each group by [Wilson].
func Calibration(p []float64, happened []bool, groups, least int) []CalibrationGroup {
	n := min(len(p), len(happened))
	groups = min(groups, n/max(1, least))
	if groups < 2 {
		return []CalibrationGroup{}
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case p[a] < p[b]:
			return -1
		case p[a] > p[b]:
			return 1
		}
		return 0
	})
	out := make([]CalibrationGroup, groups)
	for g := range out {
		part := order[g*n/groups : (g+1)*n/groups]
		c := CalibrationGroup{N: len(part)}
		for _, i := range part {
			c.Predicted += p[i] / float64(len(part))
			if happened[i] {
				c.Events++
			}
		}
		c.Observed = float64(c.Events) / float64(c.N)
		c.Limits = Wilson(c.Events, c.N, Level)
		out[g] = c
	}
	return out
}
