package jobs

import (
	"slices"
	"time"
)

// ComplaintState is where a complaint stands.
type ComplaintState string

// The states of a complaint. What was closed and is taken up again by a later complaint that is not closed, or whose outcome
// was withdrawn, is reopened.
const (
	ComplaintOpen     ComplaintState = "open"
	ComplaintClosed   ComplaintState = "closed"
	ComplaintReopened ComplaintState = "reopened"
)

// ComplaintFile is a complaint with all that became of it.
type ComplaintFile struct {
	Record    *Record
	Complaint *Complaint
	State     ComplaintState
	Outcomes  []*Record // in force: one, or several that were recorded side by side
	Disputed  bool      // they differ
	PutRight  *Record
	Before    *Record   // the complaint that this one takes up again
	Again     []*Record // complaints that take this one up again
	Hours     float64   // of putting it right
	Cost      float64   // of putting it right and of the outcome
}

// Outcome is the outcome that counts; nil while it is open or disputed.
func (c ComplaintFile) Outcome() *Outcome {
	if len(c.Outcomes) == 0 || c.Disputed {
		return nil
	}
	return c.Outcomes[len(c.Outcomes)-1].What.(*Outcome)
}

// Says tells in one line how it ended, or that it is open.
func (c ComplaintFile) Says() string {
	o := c.Outcome()
	switch {
	case c.Disputed:
		return "open: two outcomes were recorded that do not agree"
	case c.State == ComplaintReopened && o != nil:
		return "open again; it had ended: " + saysIn(outcomeWords, o.Outcome)
	case c.State == ComplaintReopened:
		return "open again"
	case o == nil:
		return "open"
	}
	says := saysIn(outcomeWords, o.Outcome) + "; cause: " + saysIn(causeWords, o.Cause) + ", " + saysIn(confidenceWords, o.Confidence)
	if o.ClosedBy != "" {
		says += "; closed: " + saysIn(closedWords, o.ClosedBy)
	}
	return says
}

// Complaints lists the complaints of a job in the order in which they were recorded.
func (j *Job) Complaints() []ComplaintFile {
	var out []ComplaintFile
	for _, r := range j.Of("complaint") {
		c := ComplaintFile{Record: r, Complaint: r.What.(*Complaint), State: ComplaintOpen, Outcomes: j.outcomesOf(r), PutRight: j.CuredBy(r)}
		for _, h := range r.Refers(Of) {
			if before := j.byHash[h]; before != nil && before.Kind == "complaint" {
				c.Before = before
			}
		}
		for _, s := range j.namedBy[r.Hash] {
			if s.Kind == "complaint" && s.names(r.Hash, Of) && j.InForce(s) && !slices.Contains(c.Again, s) {
				c.Again = append(c.Again, s)
			}
		}
		for _, o := range c.Outcomes {
			c.Disputed = c.Disputed || !sameOutcome(o, c.Outcomes[0])
			c.Cost = round(c.Cost + value(o.What.(*Outcome).Cost))
		}
		if p := c.PutRight; p != nil {
			d := p.What.(*PutRight)
			c.Hours, c.Cost = value(d.Hours), round(c.Cost+value(d.Cost))
		}
		switch {
		case len(c.Outcomes) == 0 && j.closedOnce(r):
			c.State = ComplaintReopened
		case len(c.Outcomes) > 0 && !c.Disputed:
			c.State = ComplaintClosed
		}
		out = append(out, c)
	}
	reopen(out)
	return out
}

// reopen opens what a later complaint took up again. It stays open until each of those is closed, so that what goes on about
// the same noise does not lie in the record as closed, nor what has ended as open for ever.
func reopen(files []ComplaintFile) {
	at := make(map[*Record]int, len(files))
	for i := range files {
		at[files[i].Record] = i
	}
	settled := make([]bool, len(files))
	var settle func(i int)
	settle = func(i int) {
		if settled[i] {
			return
		}
		settled[i] = true
		for _, later := range files[i].Again {
			n, ok := at[later]
			if !ok {
				continue
			}
			settle(n)
			if files[n].State != ComplaintClosed && files[i].State == ComplaintClosed {
				files[i].State = ComplaintReopened
			}
		}
	}
	for i := range files {
		settle(i)
	}
}

// outcomesOf lists the outcomes in force of a complaint.
func (j *Job) outcomesOf(complaint *Record) []*Record {
	var rs []*Record
	for _, s := range j.namedBy[complaint.Hash] {
		if s.Kind == "outcome" && s.names(complaint.Hash, Over) && s.What != nil && j.InForce(s) && !slices.Contains(rs, s) {
			rs = append(rs, s)
		}
	}
	return rs
}

// closedOnce tells whether a complaint ever had an outcome.
func (j *Job) closedOnce(complaint *Record) bool {
	for _, s := range j.namedBy[complaint.Hash] {
		if s.Kind == "outcome" && s.names(complaint.Hash, Over) {
			return true
		}
	}
	return false
}

func sameOutcome(a, b *Record) bool {
	x, y := a.What.(*Outcome), b.What.(*Outcome)
	return x.Outcome == y.Outcome && x.Cause == y.Cause
}

// HandedOver is when the work was handed over, by what record; nil while it was not: the client's word that they accept the
// whole job, else the supervisor's sign-off of it.
func (j *Job) HandedOver() (at time.Time, by *Record) {
	for _, r := range j.Of("sign") {
		if r.What.(*Sign).Statement == "accepted" && r.On.Surface == "" {
			at, by = r.DoneAt(), r
		}
	}
	if by != nil {
		return at, by
	}
	for _, r := range j.Of("sign_off") {
		if r.On.Surface == "" {
			at, by = r.DoneAt(), r
		}
	}
	return at, by
}

// FollowUpMonths are the months after handover in which the same questions are asked; common practice of this project, no
// source.
var FollowUpMonths = []int{1, 3, 12}

// DueState is where a follow-up stands.
type DueState string

// The states of a follow-up. No reply is no reply: nothing is concluded from it.
const (
	DueAhead    DueState = "ahead"
	DueNow      DueState = "due"
	DueAnswered DueState = "answered"
	DueNoReply  DueState = "no_reply"
)

// Due is one follow-up of a job.
type Due struct {
	Month    int
	At       time.Time // when it is due
	State    DueState
	DaysLate int     // while it is due
	Record   *Record // the last answer, or the last time that nobody replied
}

// Due lists the follow-ups of a job that was handed over, whether asked or not.
func (j *Job) Due(now time.Time) []Due {
	handed, by := j.HandedOver()
	if by == nil {
		return nil
	}
	var out []Due
	for _, month := range FollowUpMonths {
		d := Due{Month: month, At: monthsAfter(handed, month), State: DueAhead}
		if !now.Before(d.At) {
			d.State, d.DaysLate = DueNow, int(now.Sub(d.At).Hours()/24)
		}
		for _, r := range j.Of("follow_up") {
			f := r.What.(*FollowUp)
			if f.Month != month || f.OtherSide {
				continue
			}
			switch {
			case !f.Answers.NoReply:
				d.State, d.Record, d.DaysLate = DueAnswered, r, 0
			case d.State != DueAnswered:
				d.State, d.Record, d.DaysLate = DueNoReply, r, 0
			}
		}
		out = append(out, d)
	}
	return out
}

// monthsAfter is the same day some months later, or the last of a month that has no such day.
func monthsAfter(t time.Time, months int) time.Time {
	later := t.AddDate(0, months, 0)
	if later.Day() != t.Day() {
		later = later.AddDate(0, 0, -later.Day())
	}
	return later
}
