package outcomes

import (
	"math"
	"slices"
)

// Followed is one unit that was followed until Time: to its event, or to the last that was heard of it without one.
type Followed struct {
	Time  float64
	Event bool
}

// Step is a point of the curve at which it falls.
type Step struct {
	Time   float64  `json:"time"`
	AtRisk int      `json:"at_risk"`
	Events int      `json:"events"`
	Free   float64  `json:"free"` // share without an event after this time
	SE     float64  `json:"se"`   // Greenwood
	Limits Interval `json:"interval_95"`
}

// Curve is the share without an event over time.
type Curve struct {
	N        int       `json:"n"`
	Events   int       `json:"events"`
	Censored []float64 `json:"-"` // times at which units were lost from sight without an event
	Steps    []Step    `json:"steps"`
	Last     float64   `json:"last"` // beyond this nobody was followed, and nothing is known
	// Level of the intervals.
	Level float64 `json:"level"`
}

// KaplanMeier returns the share of units without an event over time. A unit that is lost from sight counts as at risk until
// then and not after: it is neither a success nor a failure. Events at a time come before losses at the same time.
//
//	S(t) = Π (1 - d_i/n_i) over event times t_i ≤ t        d events, n at risk
//	Greenwood: V = Σ d_i/(n_i(n_i-d_i)), SE = S √V
//	limits: S^exp(± z √V / ln S), which stay within 0 to 1
//
// Where S has reached 0, V has no value; the upper limit is then the exact bound of none of the units last at risk.
// Sources: E. L. Kaplan and P. Meier, J. Am. Stat. Assoc. 53 (1958) 457-481; log-log limits: J. D. Kalbfleisch and R. L.
// Prentice, The Statistical Analysis of Failure Time Data, 1980. Checked: testdata/published/outcomes/remission.csv.
func KaplanMeier(units []Followed, level float64) Curve {
	c := Curve{N: len(units), Censored: []float64{}, Steps: []Step{}, Level: level}
	us := units
	if !slices.IsSortedFunc(us, byTime) {
		us = slices.SortedFunc(slices.Values(units), byTime)
	}
	z, free, greenwood := twoSided(level), 1.0, 0.0
	for i := 0; i < len(us); {
		t, atRisk, events := us[i].Time, len(us)-i, 0
		for ; i < len(us) && us[i].Time == t; i++ {
			if us[i].Event {
				events++
			} else {
				c.Censored = append(c.Censored, t)
			}
		}
		c.Last = t
		if events == 0 {
			continue
		}
		c.Events += events
		d, n := float64(events), float64(atRisk)
		free *= 1 - d/n
		if events == atRisk {
			free = 0
			c.Steps = append(c.Steps, Step{Time: t, AtRisk: atRisk, Events: events, Limits: Interval{0, Exact(0, atRisk, level).High}})
			continue
		}
		greenwood += d / (n * (n - d))
		s := Step{Time: t, AtRisk: atRisk, Events: events, Free: free, SE: free * math.Sqrt(greenwood)}
		a, b := logLog(free, -z*math.Sqrt(greenwood)), logLog(free, z*math.Sqrt(greenwood))
		s.Limits = Interval{min(a, b), max(a, b)}
		c.Steps = append(c.Steps, s)
	}
	return c
}

// byTime orders by time; events at a time come before losses at the same time.
func byTime(a, b Followed) int {
	switch {
	case a.Time < b.Time:
		return -1
	case a.Time > b.Time:
		return 1
	case a.Event && !b.Event:
		return -1
	case b.Event && !a.Event:
		return 1
	}
	return 0
}

func logLog(free, shift float64) float64 { return math.Pow(free, math.Exp(shift/math.Log(free))) }

// AtRisk counts the units that were still followed at a time.
func (c Curve) atRisk(units []Followed, t float64) int {
	n := 0
	for _, u := range units {
		if u.Time >= t {
			n++
		}
	}
	return n
}

// At returns the share without an event at a time and its limits, and false where nobody was followed that long. Before
// the first event the lower limit is the exact bound of none of the units still followed: without events the curve itself
// has no spread, which does not make it certain.
func (c Curve) At(t float64, units []Followed) (free float64, limits Interval, known bool) {
	if c.N == 0 || t > c.Last {
		return 0, Interval{0, 1}, false
	}
	i := -1
	for k, s := range c.Steps {
		if s.Time <= t {
			i = k
		}
	}
	if i >= 0 {
		return c.Steps[i].Free, c.Steps[i].Limits, true
	}
	return 1, Interval{1 - Exact(0, c.atRisk(units, t), c.Level).High, 1}, true
}
