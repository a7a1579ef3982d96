package outcomes

import "time"

// standing is where a job, or its part in one family, stands after the work.
type standing struct {
	known      bool // somebody answered, or complained
	complained bool
	ours       bool // found to be the firm's own work
	putRight   bool // and put right
	dated      bool // followed holds a time
	followed   Followed
}

// meanMonth is a month in hours: a year of 365.25 days by twelve.
const meanMonth = 365.25 * 24 / 12

// monthsAfter is the time from the end of the work, in months; never below 0, because what was complained of before the
// end was complained of.
func (f *Facts) monthsAfter(t time.Time) float64 { return max(0, t.Sub(*f.Finished).Hours()/meanMonth) }

// standing works out where the given surfaces stand, all of the job for nil. A complaint that names no surface says
// nothing about which of several it concerns: the job has one, and its parts become unknown.
func (f *Facts) standing(surfaces map[string]bool) standing {
	var s standing
	var first *time.Time
	unplaced := false
	for i, c := range f.Complaints {
		if !c.Counts() {
			continue
		}
		if surfaces != nil && !surfaces[c.Surface] {
			unplaced = unplaced || c.Surface == ""
			continue
		}
		s.complained = true
		s.ours = s.ours || c.Ours()
		s.putRight = s.putRight || c.Outcome == "ours_put_right"
		if first == nil {
			first = &f.Complaints[i].At
		}
	}
	heard, answered := 0.0, false
	for _, u := range f.FollowUps {
		if u.NoReply {
			continue
		}
		answered = true
		heard = max(heard, f.heardAt(u))
	}
	s.known = s.complained || answered && !unplaced
	switch {
	case f.Finished == nil:
	case s.complained:
		s.dated, s.followed = true, Followed{Time: f.monthsAfter(*first), Event: true}
	case s.known:
		s.dated, s.followed = true, Followed{Time: heard}
	}
	return s
}

// earlyAsking is how much before its month a follow-up may be asked and still count as asked then. Ours.
const earlyAsking = 0.2

// heardAt is up to when an answer tells that there was no complaint, in months after the work: the day it was given, or the
// planned month where no day was recorded or where it was asked only a little early.
func (f *Facts) heardAt(u FollowUp) float64 {
	planned := float64(u.Month)
	if f.Finished == nil || u.At == nil {
		return planned
	}
	at := f.monthsAfter(*u.At)
	if at < planned && at >= planned*(1-earlyAsking) {
		return planned
	}
	return at
}

// over tells whether the work ended, so that the job can be asked about.
func (f *Facts) over() bool {
	return f.Finished != nil || len(f.FollowUps) > 0 || len(f.Complaints) > 0
}

// trouble is a complaint, or something put right after the work was done.
func (f *Facts) trouble(s standing) bool {
	for _, c := range f.Cures {
		if c.Late {
			return true
		}
	}
	return s.complained
}

// real tells whether the facts are of a job at all, and not of the place where a firm's own entries stand.
func (f *Facts) real() bool { return len(f.Parts) > 0 }
