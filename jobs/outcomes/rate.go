package outcomes

// FewestForRate is the smallest n for which a share or a mean is said at all. Common practice of this project, no source.
const FewestForRate = 5

// Rate is a share of events in n units. Below [FewestForRate] no share is given; the intervals always are, because they show
// how little is known.
type Rate struct {
	Events int      `json:"events"`
	N      int      `json:"n"`
	Share  *float64 `json:"share"`
	Wilson Interval `json:"wilson_95"`
	Exact  Interval `json:"exact_95"`
	// Unknown units are those nobody heard of: neither in Events nor in N. Bounds is the share if none of them, or all of
	// them, had an event.
	Unknown int      `json:"unknown"`
	Bounds  Interval `json:"bounds"`
}

// RateOf returns the rate of events among n known units beside unknown ones.
func RateOf(events, n, unknown int) Rate {
	r := Rate{Events: events, N: n, Unknown: unknown, Wilson: Wilson(events, n, Level), Exact: Interval{0, 1}, Bounds: Interval{0, 1}}
	if n > 0 {
		r.Exact = Exact(events, n, Level)
	}
	if all := n + unknown; all > 0 {
		r.Bounds = Interval{float64(events) / float64(all), float64(events+unknown) / float64(all)}
	}
	if n >= FewestForRate {
		share := float64(events) / float64(n)
		r.Share = &share
	}
	return r
}
