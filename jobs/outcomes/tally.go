package outcomes

import (
	"cmp"
	"math"
	"slices"
	"time"

	"tacet/jobs"
)

// tallies are what the book counts of its jobs one at a time. All are whole numbers, so that taking a job out again leaves no
// trace and the order in which jobs came makes no difference.
type tallies struct {
	undated, early, unmatched, tested int
	followed                          followedList
	changes                           map[string]*changeTally // by kind of noise
	causes                            map[string]*causeTally
	complaintCost                     thousandths
	checks                            map[string]*checkTally
	fitters                           map[string]*fitterTally
	unsorted                          map[string]bool // fitters whose surfaces changed
	settings                          map[string][]setting
}

func newTallies() tallies {
	return tallies{changes: map[string]*changeTally{}, causes: map[string]*causeTally{}, checks: map[string]*checkTally{},
		fitters: map[string]*fitterTally{}, unsorted: map[string]bool{}, settings: map[string][]setting{}}
}

// thousandths of an hour or of the firm's money: sums of them are exact.
type thousandths int64

func inThousandths(v float64) thousandths { return thousandths(math.Round(v * 1000)) }

func (n thousandths) float() float64 { return float64(n) / 1000 }

// changeTally counts pairs of answers by their difference, -10 to 10, and homes that answered on one side only.
type changeTally struct {
	by       [21]int
	unpaired int
}

type causeTally struct {
	n, late     int
	hours, cost thousandths
}

// at gives the tally of a name, made where there is none yet.
func at[T any](m map[string]*T, name string) *T {
	t := m[name]
	if t == nil {
		t = new(T)
		m[name] = t
	}
	return t
}

// enter adds a job to what is counted, or takes it off.
func (t *tallies) enter(f *Facts, sign int) {
	t.enterTests(f, sign)
	for _, n := range jobs.NoiseKinds() {
		before, asked := f.Baseline[n.Code]
		after, answered := f.lastAnswer(n.Code)
		switch c := at(t.changes, n.Code); {
		case asked && answered:
			c.by[max(-10, min(10, after-before))+10] += sign
		case asked != answered:
			c.unpaired += sign
		}
	}
	for _, c := range f.Complaints {
		t.complaintCost += thousandths(sign) * inThousandths(c.Cost)
	}
	for _, c := range f.Cures {
		l := at(t.causes, c.Cause)
		l.n += sign
		if c.Late {
			l.late += sign
		}
		l.hours += thousandths(sign) * inThousandths(c.Hours)
		l.cost += thousandths(sign) * inThousandths(c.Cost)
	}
	t.enterChecks(f, sign)
	for _, p := range f.Parts {
		if p.Fitter == "" || p.Begun.IsZero() || p.Answered == 0 {
			continue // nobody known to have worked on it, or nothing checked
		}
		at(t.fitters, p.Fitter).enter(fitted{p.Begun, f.Job + " " + p.Surface, p.Failed > 0}, sign)
		t.unsorted[p.Fitter] = true
	}
}

func (t *tallies) enterTests(f *Facts, sign int) {
	if f.over() && f.Finished == nil {
		t.undated += sign
	}
	tested := false
	for _, test := range f.Tests {
		switch {
		case test.Early:
			t.early += sign
			continue
		case test.PredictedDB == nil:
			t.unmatched += sign
		}
		tested = true
	}
	if tested {
		t.tested += sign
	}
}

func (t *tallies) enterChecks(f *Facts, sign int) {
	s := f.standing(nil)
	trouble := f.trouble(s)
	for _, c := range f.Checks {
		n := at(t.checks, c.Code)
		n.answered += sign * c.Answered
		n.failed += sign * c.Failed
		if c.Stop {
			n.stop += sign
		}
		jobs, troubled := &n.jobsPassed, &n.troublePassed
		if c.Failed > 0 {
			jobs, troubled = &n.jobsFailed, &n.troubleFailed
		}
		if !s.known {
			continue
		}
		*jobs += sign
		if trouble {
			*troubled += sign
		}
	}
}

// fitted is one surface that a fitter built.
type fitted struct {
	begun time.Time
	id    string
	fault bool
}

// fitterTally is one fitter's surfaces, and how many of the first and of the later ones had a fault.
type fitterTally struct {
	built                              []fitted
	early, earlyFault, late, lateFault int
}

func (t *fitterTally) enter(s fitted, sign int) {
	if sign > 0 {
		t.built = append(t.built, s)
		return
	}
	if i := slices.IndexFunc(t.built, func(o fitted) bool { return o.id == s.id }); i >= 0 {
		t.built = slices.Delete(t.built, i, i+1)
	}
}

// count sorts the surfaces by when they were begun and counts the first three and the rest.
func (t *fitterTally) count() {
	slices.SortFunc(t.built, func(a, b fitted) int { return cmp.Or(a.begun.Compare(b.begun), cmp.Compare(a.id, b.id)) })
	t.early, t.earlyFault, t.late, t.lateFault = 0, 0, 0, 0
	for i, s := range t.built {
		n, fault := &t.late, &t.lateFault
		if i < firstSurfaces {
			n, fault = &t.early, &t.earlyFault
		}
		*n++
		if s.fault {
			*fault++
		}
	}
}

// followedList keeps what was followed in the order of time, and takes in what came and went when it is next asked for.
type followedList struct {
	sorted, came, went []Followed
}

func (l *followedList) enter(f Followed, sign int) {
	if sign > 0 {
		l.came = append(l.came, f)
		return
	}
	l.went = append(l.went, f)
}

func (l *followedList) list() []Followed {
	if len(l.came)+len(l.went) == 0 {
		return l.sorted
	}
	slices.SortFunc(l.came, byTime)
	slices.SortFunc(l.went, byTime)
	out := make([]Followed, 0, len(l.sorted)+len(l.came))
	a, b, gone := l.sorted, l.came, l.went
	for len(a)+len(b) > 0 {
		from := &a
		if len(a) == 0 || len(b) > 0 && byTime(b[0], a[0]) < 0 {
			from = &b
		}
		f := (*from)[0]
		*from = (*from)[1:]
		if len(gone) > 0 && gone[0] == f {
			gone = gone[1:]
			continue
		}
		out = append(out, f)
	}
	l.sorted, l.came, l.went = out, nil, nil
	return out
}
