package outcomes

import (
	"cmp"
	"fmt"
	"slices"

	"tacet/jobs"
)

// Process is what the work itself tells: why things had to be put right and what it took, which checks find something, and
// how new fitters' surfaces differ.
type Process struct {
	Causes []CauseLine `json:"causes"`
	Hours  float64     `json:"hours"`
	Cost   float64     `json:"cost"` // in the firm's own money, where it was recorded
	// Complaints is what complaints cost besides putting right, as recorded with their outcomes.
	Complaints float64     `json:"cost_of_complaints"`
	Checks     []CheckLine `json:"checks"`
	Fitter     FitterLine  `json:"new_fitter"`
}

// CauseLine is one cause of putting right.
type CauseLine struct {
	Cause string  `json:"cause"`
	N     int     `json:"n"`
	Late  int     `json:"n_after_the_work"`
	Hours float64 `json:"hours"`
	Cost  float64 `json:"cost"`
}

// CheckLine is one check over all jobs.
type CheckLine struct {
	Code  string `json:"code"`
	Title string `json:"title"`
	Stop  bool   `json:"stop"`
	Rate  Rate   `json:"failed"` // of the times it was answered with pass or fail
	// Trouble compares jobs followed up in which it failed with those in which it passed throughout.
	Trouble *TroubleLine `json:"trouble"`
	Finding string       `json:"finding"` // empty: nothing to say
}

// TroubleLine is the share of jobs with trouble after the work where a check failed, less that where it passed. Its level
// is raised for the number of checks looked at, so that one among many does not stand out by luck (Bonferroni).
type TroubleLine struct {
	Failed     Rate       `json:"where_failed"`
	Passed     Rate       `json:"where_passed"`
	Difference Difference `json:"difference"`
}

// FitterLine compares each fitter's first three surfaces with the later ones: the share in which a check failed.
type FitterLine struct {
	First      Rate       `json:"first_three_surfaces"`
	Later      Rate       `json:"later_surfaces"`
	Difference Difference `json:"difference"`
	Finding    string     `json:"finding"`
}

// firstSurfaces is how long a fitter counts as new. Common practice of this project, no source.
const firstSurfaces = 3

// rareFault is the share below which a check may be asked whether it is still worth its time.
const rareFault = 0.01

func (t *tallies) process() Process {
	p := Process{Causes: []CauseLine{}, Complaints: t.complaintCost.float()}
	var hours, cost thousandths
	for cause, c := range t.causes {
		if c.n == 0 {
			continue // there was one, and it was taken out again
		}
		p.Causes = append(p.Causes, CauseLine{Cause: cause, N: c.n, Late: c.late, Hours: c.hours.float(), Cost: c.cost.float()})
		hours += c.hours
		cost += c.cost
	}
	p.Hours, p.Cost = hours.float(), cost.float()
	slices.SortFunc(p.Causes, func(a, b CauseLine) int { return cmp.Or(cmp.Compare(b.N, a.N), cmp.Compare(a.Cause, b.Cause)) })
	p.Checks = t.checkLines()
	p.Fitter = t.newFitters()
	return p
}

// checkTally counts of one check: answers, and jobs heard of since by whether it failed and whether there was trouble.
type checkTally struct {
	stop                      int // jobs in which it was a stop check
	answered, failed          int
	jobsFailed, troubleFailed int
	jobsPassed, troublePassed int
}

func (t *tallies) checkLines() []CheckLine {
	var codes []string
	for code, c := range t.checks {
		if c.answered > 0 {
			codes = append(codes, code)
		}
	}
	slices.Sort(codes)
	level := 1 - (1-Level)/float64(max(1, len(codes)))
	out := []CheckLine{}
	for _, code := range codes {
		t := t.checks[code]
		rule, _ := jobs.RuleOf(code)
		l := CheckLine{Code: code, Title: rule.Title, Stop: t.stop > 0, Rate: RateOf(t.failed, t.answered, 0)}
		if t.jobsFailed >= FewestForRate && t.jobsPassed >= FewestForRate {
			l.Trouble = &TroubleLine{Failed: RateOf(t.troubleFailed, t.jobsFailed, 0), Passed: RateOf(t.troublePassed, t.jobsPassed, 0),
				Difference: DifferenceOf(t.troubleFailed, t.jobsFailed, t.troublePassed, t.jobsPassed, level)}
		}
		l.Finding = l.finding()
		out = append(out, l)
	}
	return out
}

func (l CheckLine) finding() string {
	if t := l.Trouble; t != nil && t.Difference.Interval.Low > 0 {
		says := fmt.Sprintf("Where it failed, trouble after the work was more frequent: %d of %d jobs against %d of %d. This does not say why.", t.Failed.Events, t.Failed.N, t.Passed.Events, t.Passed.N)
		if !l.Stop {
			says += " Consider making it a stop check."
		}
		return says
	}
	if l.Rate.Events == 0 && AtMost(0, l.Rate.N, Level) < rareFault {
		return fmt.Sprintf("Never failed in %d answers, so fails less often than 1 in 100 (95 %%). Consider whether it is still worth its time; checks of fire, structure and hidden services stay.", l.Rate.N)
	}
	return ""
}

// newFitters compares the surfaces that were a fitter's first three with the rest; surfaces without an answered check, or
// with nobody known to have worked on them, are left out.
func (t *tallies) newFitters() FitterLine {
	for fitter := range t.unsorted {
		t.fitters[fitter].count()
	}
	clear(t.unsorted)
	var early, late, earlyFault, lateFault int
	for _, f := range t.fitters {
		early += f.early
		earlyFault += f.earlyFault
		late += f.late
		lateFault += f.lateFault
	}
	l := FitterLine{First: RateOf(earlyFault, early, 0), Later: RateOf(lateFault, late, 0), Difference: DifferenceOf(earlyFault, early, lateFault, late, Level)}
	switch {
	case early < FewestForRate || late < FewestForRate:
		l.Finding = "Too few surfaces to compare a fitter's first three with later ones."
	case l.Difference.Interval.Low > 0:
		l.Finding = "A check failed more often on a fitter's first three surfaces than later. This does not say why: first surfaces are also looked at more closely."
	case l.Difference.Interval.High < 0:
		l.Finding = "A check failed less often on a fitter's first three surfaces than later. This does not say why."
	default:
		l.Finding = "No clear difference between a fitter's first three surfaces and later ones."
	}
	return l
}
