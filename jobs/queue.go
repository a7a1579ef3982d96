package jobs

import (
	"cmp"
	"slices"
	"strings"
	"time"
)

// QueueItem is a layer that waits for the supervisor.
type QueueItem struct {
	Job     *Job
	Surface *Surface
	Layer   *Layer
	Why     QueueReason
	CoverAt time.Time // when it is meant to be covered; zero: nobody said
	Since   time.Time // when it was ready, put right, or covered
	Open    []*Check  // stop checks that still keep it from being covered
	Answer  *Record   // the supervisor's last answer in force, where it is on the way
	// Look tells whether somebody has to look at it, Because why, or why not. The draw is made by the program, after the
	// evidence is in.
	Look    bool
	Because string
	// CoverFrom is from when the site may cover it without an answer, by the firm's rule; zero: not without an answer.
	CoverFrom time.Time
	Rule      string
}

// QueueReason is why a layer waits.
type QueueReason string

// The reasons, in the order in which the queue has them where no time is planned.
const (
	QueueReady         QueueReason = "ready"          // to be seen before it is covered
	QueuePutRight      QueueReason = "put_right"      // to be accepted
	QueueCoveredUnseen QueueReason = "covered_unseen" // a fact that somebody has to look into
)

// Queue lists what waits for the supervisor on this job.
func (j *Job) Queue() []QueueItem { return Queue([]*Job{j}) }

// Queue lists what waits for the supervisor on the jobs of a company: first what has a planned covering time, the earliest
// first, then the rest, the oldest first, last what was covered unseen. The company's own job among them gives the firm's
// rule. Given the same jobs, every replica draws the same surfaces.
func Queue(all []*Job) []QueueItem {
	ws := make([]Waiting, len(all))
	for i, j := range all {
		ws[i] = j.Waiting()
	}
	return QueueOf(ws)
}

// Waiting is what one job has for the queue, made of that job alone: a program may keep it for as long as the job does not
// change, and need not fold it again.
type Waiting struct {
	job, company string
	rules        []*FirmRule
	firsts       []firstWork
	answers      map[string][]fitAnswer // by surface
	items        []QueueItem            // before anything is drawn
}

// Waiting gathers what the queue asks of the job.
func (j *Job) Waiting() Waiting {
	w := Waiting{job: j.ID, company: j.Company, rules: j.firmRules(), firsts: firstWorks(j), answers: map[string][]fitAnswer{}}
	for _, s := range j.Surfaces {
		if as := answersOn(j, s); len(as) > 0 {
			w.answers[s.Code] = as
		}
		for _, l := range s.Layers {
			if i, ok := j.queued(s, l); ok {
				w.items = append(w.items, i)
			}
		}
	}
	return w
}

// QueueOf is [Queue] of what was gathered.
func QueueOf(all []Waiting) []QueueItem {
	firm := DefaultFirmRule()
	for _, w := range all {
		if w.job == w.company {
			firm = rulesOver(firm, w.rules)
		}
	}
	past := pastOf(all)
	var items []QueueItem
	for _, w := range all {
		rule := rulesOver(firm, w.rules)
		for _, i := range w.items {
			i.draw(past, rule)
			i.whileUnanswered(rule)
			items = append(items, i)
		}
	}
	slices.SortStableFunc(items, func(a, b QueueItem) int {
		return cmp.Or(cmp.Compare(a.rank(), b.rank()), a.when().Compare(b.when()), cmp.Compare(a.Job.ID, b.Job.ID), compareCodes(a.Surface.Code, b.Surface.Code), cmp.Compare(a.Layer.N, b.Layer.N))
	})
	return items
}

func (i QueueItem) rank() int {
	switch {
	case i.Why == QueueCoveredUnseen:
		return 2
	case i.CoverAt.IsZero():
		return 1
	}
	return 0
}

func (i QueueItem) when() time.Time {
	if i.Why != QueueCoveredUnseen && !i.CoverAt.IsZero() {
		return i.CoverAt
	}
	return i.Since
}

// CoveredUnseen counts the layers of a job that were covered before they were seen, whatever was decided afterwards: it
// stays a fact.
func (j *Job) CoveredUnseen() int {
	n := 0
	for _, s := range j.Surfaces {
		for _, l := range s.Layers {
			if l.CoveredUnseen {
				n++
			}
		}
	}
	return n
}

// queued tells whether a layer waits, and why.
func (j *Job) queued(s *Surface, l *Layer) (QueueItem, bool) {
	i := QueueItem{Job: j, Surface: s, Layer: l, Open: l.Open}
	if t, err := time.Parse(time.RFC3339, l.CoverAt); err == nil {
		i.CoverAt = t.UTC()
	}
	audits := j.heads(s.of("audit", l.N), j.now())
	if n := len(audits); n > 0 && audits[n-1].What.(*Audit).Answer == AnswerComing {
		i.Answer = audits[n-1]
	}
	switch {
	case l.State == PutRightDone:
		i.Why = QueuePutRight
		for _, n := range j.NonConformances() {
			if n.PutRight != nil && n.State == NCPutRight && n.On.Layer == l.N && compareCodes(n.On.Surface, s.Code) == 0 {
				i.Since = n.PutRight.DoneAt()
			}
		}
		if i.Since.IsZero() {
			return i, false // accepted in another way, by a release
		}
	case l.CoveredUnseen && !j.lookedInto(s, l):
		i.Why, i.CoverAt, i.Since = QueueCoveredUnseen, time.Time{}, l.CoveredBy.DoneAt()
	case l.State == ReadyToBeSeen:
		i.Why = QueueReady
		i.Since = j.heads(s.of("ready", l.N), j.now())[0].DoneAt()
	case l.State == ToPutRight:
		again := j.readyAgain(s, l)
		if again == nil {
			return i, false
		}
		i.Why, i.Since = QueueReady, again.DoneAt()
	default:
		return i, false
	}
	return i, true
}

// readyAgain is the word that a layer is ready, where it came after all that was found wrong there. Whoever put it right and
// did not say what over would else wait for an answer from somebody who is never asked.
func (j *Job) readyAgain(s *Surface, l *Layer) *Record {
	ready := j.heads(s.of("ready", l.N), j.now())
	if len(ready) == 0 {
		return nil
	}
	last := ready[len(ready)-1]
	for _, n := range j.NonConformances() {
		here := n.On.Layer == l.N && compareCodes(n.On.Surface, s.Code) == 0
		if here && n.State == NCFound && n.Found.pos > last.pos {
			return nil
		}
	}
	return last
}

// lookedInto tells whether a supervisor answered after a layer was covered unseen.
func (j *Job) lookedInto(s *Surface, l *Layer) bool {
	for _, r := range s.work {
		here := r.On.Layer == l.N || r.Kind == "sign_off" && r.On.Layer == 0
		answer := r.Kind == "sign_off"
		if d, ok := r.What.(*Audit); ok {
			answer = d.Answer != AnswerComing
		}
		if answer && here && r.pos > l.CoveredBy.pos && j.InForce(r) {
			return true
		}
	}
	return false
}

// whileUnanswered works out what the site may do while nobody answers: never cover on a stop item, and only with full evidence.
func (i *QueueItem) whileUnanswered(rule FirmRule) {
	hours := *rule.CoverAfterH
	var stops []string
	for _, c := range i.Surface.ChecksOf(i.Layer.N) {
		if c.Rule.Stop {
			stops = append(stops, c.Rule.Code)
		}
	}
	switch {
	case i.Why == QueueCoveredUnseen:
		i.Rule = "It is covered already."
	case i.Why == QueuePutRight:
		i.Rule = "What was put right waits for the supervisor's answer."
	case i.Layer.State == ToPutRight:
		i.Rule = "Not covered without an answer: what was found wrong on it is not recorded as put right."
	case len(stops) > 0:
		i.Rule = "Not covered without an answer: " + JoinWords(stops) + " are stop checks."
		if len(stops) == 1 {
			i.Rule = "Not covered without an answer: " + stops[0] + " is a stop check."
		}
	case hours == 0:
		i.Rule = "Not covered without an answer, by the firm's rule."
	case i.Answer != nil:
		i.Rule = "The supervisor is coming."
	default:
		if lack := i.lacking(*rule.FullEvidence); lack != "" {
			i.Rule = "Not covered without an answer: " + lack + " has no evidence of strength " + itoa(*rule.FullEvidence) + "."
			return
		}
		i.CoverFrom = i.Since.Add(time.Duration(hours * float64(time.Hour)))
		i.Rule = "Without an answer it may be covered " + trim(hours) + " h after it was ready, by the firm's rule."
	}
}

// lacking names the first check of the layer without full evidence.
func (i *QueueItem) lacking(strength int) string {
	for _, c := range i.Surface.ChecksOf(i.Layer.N) {
		answered := c.State == CheckPassed && c.Evidence >= strength || c.State == CheckNotApplicable || c.Released
		if !answered {
			return c.Rule.Code
		}
	}
	return ""
}

// CheckNames lists checks in words.
func CheckNames(checks []*Check) string {
	names := make([]string, len(checks))
	for i, c := range checks {
		names[i] = c.Name()
	}
	return strings.Join(names, ", ")
}
