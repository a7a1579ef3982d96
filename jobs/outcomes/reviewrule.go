package outcomes

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// The rule for looking at a family again: two of its last eight jobs were complained of, found to be ours and put right; or
// the mean of measured less predicted is more than two standard errors from 0. Common practice of this project, no source.
const (
	// ReviewWindow is how many of the last jobs the rule looks at.
	ReviewWindow = 8
	reviewPut    = 2
	reviewErrors = 2.0
)

// ReviewState is the mark on a family and what the rule says. The rule proposes; only an entry sets the mark, and only an
// entry takes it away.
type ReviewState struct {
	Marked bool   `json:"marked"`
	Reason string `json:"reason"` // of the last mark, set or cleared
	At     string `json:"at"`     // RFC 3339, "" without a mark
	// Rule lists why the rule asks for a review now; empty where it does not.
	Rule []string `json:"rule"`
	// Due: the rule asks, the family is not marked, and something happened since it was last cleared.
	Due bool `json:"due"`
}

func (s *FamilySummary) review(marks []ReviewMark) ReviewState {
	r := ReviewState{Rule: []string{}}
	var last *ReviewMark
	for i, m := range marks {
		if last == nil || m.order > last.order || m.order == last.order && m.At.After(last.At) {
			last = &marks[i]
		}
	}
	if last != nil {
		r.Marked, r.Reason, r.At = last.Flag == "review", last.Reason, last.At.UTC().Format(time.RFC3339)
	}
	window := s.last[max(0, len(s.last)-ReviewWindow):]
	put := 0
	for _, l := range window {
		if l.Standing.putRight {
			put++
		}
	}
	if put >= reviewPut {
		r.Rule = append(r.Rule, fmt.Sprintf("%d of the last %d jobs were complained of, ours, and put right", put, len(window)))
	}
	for _, d := range s.Differences {
		if m := d.Own; m.N >= FewestForRate && *m.SE > 0 && math.Abs(*m.Mean) > reviewErrors**m.SE {
			r.Rule = append(r.Rule, fmt.Sprintf("measured less predicted %s is %s dB on average over %d jobs, more than two standard errors (%.1f dB each) from 0", d.Words, signed(*m.Mean), m.N, *m.SE))
		}
	}
	r.Due = len(r.Rule) > 0 && !r.Marked && (last == nil || s.newsSince(last.At))
	return r
}

// newsSince tells whether a job ended or was tested after a time.
func (s *FamilySummary) newsSince(t time.Time) bool {
	return slices.ContainsFunc(s.last, func(l jobLine) bool { return l.Finished != nil && l.Finished.After(t) }) ||
		slices.ContainsFunc(s.Differences, func(d DifferenceView) bool {
			return slices.ContainsFunc(d.Points, func(p Point) bool { return p.At.After(t) })
		})
}

// Proposal is the reason for an entry that marks the family, as the rule gives it.
func (r ReviewState) Proposal() string { return strings.Join(r.Rule, "; ") }
