package jobs

import (
	"cmp"
	"slices"
	"strings"
)

// NonConformance is something found wrong with its way to being accepted: found, put right, accepted.
type NonConformance struct {
	On          On
	Title       string  // of the check, or that the supervisor asked
	Found       *Record // who saw it, when, what was measured, the photos
	Saw         string  // in one line
	Grade       Grade
	Consequence string // in plain words
	Acts        string // who has to act; empty where nobody was named
	Until       string // by when, RFC 3339; empty where nothing was agreed
	State       NonConformanceState
	Disputed    bool // somebody else found it right
	PutRight    *Record
	Cause       Cause
	Hours, Cost float64
	Accepted    *Record
	// OwnWork is set where whoever did the work or put it right also accepted it: nobody else had recorded on the job.
	OwnWork bool
}

// Grade is how much a non-conformance holds up.
type Grade string

// The grades.
const (
	GradeStop     Grade = "stop"      // nothing is covered before it is put right
	GradePutRight Grade = "put_right" // before sign-off
	GradeNote     Grade = "note"      // known, and lived with
)

// Grades lists them, the gravest first.
func Grades() []Grade { return []Grade{GradeStop, GradePutRight, GradeNote} }

// NonConformanceState is where a non-conformance stands.
type NonConformanceState string

// The states of a non-conformance.
const (
	NCFound    NonConformanceState = "found"
	NCPutRight NonConformanceState = "put_right"
	NCAccepted NonConformanceState = "accepted"
)

// NonConformances lists what checks and supervisors found wrong, open ones first, the gravest first, then in the order in
// which they were found. What was withdrawn or ruled out is left out; a check that could not be seen is a note.
func (j *Job) NonConformances() []NonConformance {
	var out []NonConformance
	for _, s := range j.Surfaces {
		for _, r := range s.work {
			if n, ok := j.nonConformance(s, r); ok {
				out = append(out, n)
			}
		}
	}
	state := []NonConformanceState{NCFound, NCPutRight, NCAccepted}
	slices.SortStableFunc(out, func(a, b NonConformance) int {
		return cmp.Or(cmp.Compare(slices.Index(state, a.State), slices.Index(state, b.State)),
			cmp.Compare(slices.Index(Grades(), a.Grade), slices.Index(Grades(), b.Grade)), cmp.Compare(a.Found.pos, b.Found.pos))
	})
	return out
}

// Open tells whether somebody still has to do something about it.
func (n NonConformance) Open() bool { return n.State != NCAccepted && n.Grade != GradeNote }

func (j *Job) nonConformance(s *Surface, r *Record) (NonConformance, bool) {
	n := NonConformance{On: r.On, Found: r, Saw: j.Says(r), State: NCFound}
	switch w := r.What.(type) {
	case *CheckResult:
		if w.Result != Fail && w.Result != CouldNotSee || !j.countsFor(r, s) {
			return n, false
		}
		rule, _ := RuleOf(w.Check)
		n.Title, n.Consequence, n.Grade = rule.Code+" "+rule.Title, rule.Fault, GradePutRight
		if w.Result == CouldNotSee {
			n.Grade = GradeNote
		} else if rule.Stop {
			n.Grade = GradeStop
		}
		if c := s.Check(w.Check, r.On.Layer); c != nil {
			n.Disputed = c.State == CheckDisputed
		}
	case *Audit:
		if w.Answer != AnswerPutRight {
			return n, false
		}
		n.Title, n.Consequence, n.Grade = "Supervisor: put this right", w.Note, GradePutRight
		if n.Consequence == "" {
			n.Consequence = "The supervisor does not accept it as it is."
		}
		n.Acts, n.Until = w.Acts, w.Until
		if w.Grade != "" {
			n.Grade = w.Grade
		}
	default:
		return n, false
	}
	if note := r.Common().Note; note != "" && !strings.Contains(n.Saw, note) {
		n.Saw += ": " + note
	}
	n.PutRight = j.CuredBy(r)
	if j.struckOut(r) || n.PutRight == nil && !j.InForce(r) && !j.answered(r) {
		return n, false
	}
	if c := n.PutRight; c != nil {
		d := c.What.(*PutRight)
		n.State, n.Cause, n.Hours, n.Cost = NCPutRight, d.Cause, value(d.Hours), value(d.Cost)
	}
	if n.Accepted = j.acceptance(s, n); n.Accepted != nil {
		n.State = NCAccepted
		n.OwnWork = j.workedAt(n.Accepted.By, n.On)
	}
	return n, true
}

// struckOut tells whether a record was withdrawn, or a ruling kept another.
func (j *Job) struckOut(r *Record) bool {
	for _, s := range j.namedBy[r.Hash] {
		if !s.names(r.Hash, Over) || !j.InForce(s) {
			continue
		}
		switch w := s.What.(type) {
		case *Withdraw:
			if s.Role.Judges() || s.By == r.By {
				return true
			}
		case *Ruling:
			if w.Keeps != r.ID {
				return true
			}
		}
	}
	return false
}

// answered tells whether the supervisor gave a later answer in place of this one.
func (j *Job) answered(r *Record) bool {
	for _, s := range j.namedBy[r.Hash] {
		if s.Kind == "audit" && r.Kind == "audit" && s.names(r.Hash, Base) {
			return true
		}
	}
	return false
}

// acceptance is the record by which a supervisor took a fault as settled, given in view of how it was put right: an answer
// that it may be covered, a release, a sign-off, or their own look that found it right. Where nothing was recorded as put
// right, a later answer or a release in view of the fault accepts it as it is.
func (j *Job) acceptance(s *Surface, n NonConformance) *Record {
	after := n.Found
	if n.PutRight != nil {
		after = n.PutRight
	}
	for _, r := range j.Records {
		if r.pos <= after.pos || !r.Role.Judges() || !j.accepts(r, s, n) || !j.InForce(r) || !j.sawEachOther(after, r) {
			continue
		}
		if r.By == after.Doer() && n.PutRight != nil && !j.alone(Author{Person: r.By, Role: r.Role, Reissued: !r.Was.IsZero()}) {
			continue
		}
		return r
	}
	return nil
}

func (j *Job) accepts(r *Record, s *Surface, n NonConformance) bool {
	here := compareCodes(r.On.Surface, s.Code) == 0
	switch w := r.What.(type) {
	case *Audit:
		return here && r.On.Layer == n.On.Layer && w.Answer == AnswerCover
	case *Release:
		return here && r.On.Layer == n.On.Layer && slices.Contains(w.Checks, n.On.Check)
	case *CheckResult:
		return n.PutRight != nil && here && r.On.Layer == n.On.Layer && r.On.Check == n.On.Check && w.Result == Pass
	case *SignOff:
		return n.PutRight != nil && (r.On.Surface == "" || here && (r.On.Layer == 0 || r.On.Layer == n.On.Layer))
	}
	return false
}

// curesOf names what was put right on a layer, 0 for the whole surface: what an answer is given in view of.
func (j *Job) curesOf(s *Surface, layer int) []Ref {
	var refs []Ref
	for _, r := range s.work {
		if r.On.Layer != layer && layer != 0 || !findsFault(r) {
			continue
		}
		if c := j.CuredBy(r); c != nil {
			refs = append(refs, Ref{c.Hash, Sees})
		}
	}
	return refs
}

// CauseSum is what putting right took, for one cause.
type CauseSum struct {
	Cause Cause
	N     int
	Hours float64
	Cost  float64
}

// PutRightByCause sums the hours and the cost of putting right by cause, in the order of [Causes]; causes that did not
// occur are left out. It counts causes, not people.
func (j *Job) PutRightByCause() []CauseSum {
	var sums []CauseSum
	for _, cause := range Causes() {
		sum := CauseSum{Cause: cause}
		for _, r := range j.Of("put_right") {
			if d := r.What.(*PutRight); d.Cause == cause {
				sum.N++
				sum.Hours, sum.Cost = round(sum.Hours+value(d.Hours)), round(sum.Cost+value(d.Cost))
			}
		}
		if sum.N > 0 {
			sums = append(sums, sum)
		}
	}
	return sums
}

// CrewLine is what one person did on a job.
type CrewLine struct {
	Who       string // a name as recorded, or the id of whoever recorded
	Surfaces  []string
	Installs  int
	PutRights int
	FromPaper int // records of theirs that were typed in from paper
}

// Crew lists who put up and put right what, by surface.
func (j *Job) Crew() []CrewLine {
	at := map[string]int{}
	var crew []CrewLine
	for _, r := range j.Records {
		if !j.isWorkAt(r, "", 0) || !j.InForce(r) {
			continue
		}
		who := r.Doer()
		i, known := at[who]
		if !known {
			i = len(crew)
			at[who] = i
			crew = append(crew, CrewLine{Who: who})
		}
		c := &crew[i]
		surface := r.On.Surface
		if r.Kind == "install" {
			c.Installs++
		} else {
			c.PutRights++
			for _, h := range r.Refers(Over) {
				if f := j.byHash[h]; f != nil {
					surface = f.On.Surface
				}
			}
		}
		if surface != "" && !slices.Contains(c.Surfaces, surface) {
			c.Surfaces = append(c.Surfaces, surface)
		}
		if r.Common().FromPaper {
			c.FromPaper++
		}
	}
	return crew
}
