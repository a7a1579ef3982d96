package jobs

var _ = registerKind[Admission]("admission", 1)

// Answers of an admission.
const (
	AnswerAdmit  = "admit"
	AnswerRefuse = "refuse"
)

// Admission is a supervisor's word on entries that a rule holds back at the server: they are taken into the record, or
// not taken. The server acts on it as it arrives; what is refused stays in the history and counts for nothing.
type Admission struct {
	Common
	judge
	On     []string `json:"on"` // ids of entries that are held
	Answer string   `json:"answer"`
	Reason string   `json:"reason"`
}

// Valid wants the entries, an answer and the reason.
func (d *Admission) Valid() error {
	if len(d.On) == 0 || len(d.On) > MaxRefs {
		return &InputError{Field: "on", Value: itoa(len(d.On)), Range: "1 to 64 entries"}
	}
	if err := choice("answer", d.Answer, AnswerAdmit, AnswerRefuse); err != nil {
		return err
	}
	if err := text("reason", d.Reason, 1, 1000); err != nil {
		return err
	}
	return d.valid()
}

// Allowed is the right of those who judge. Nobody admits what they recorded themselves, and nothing is admitted that no
// rule of the record could read.
func (d *Admission) Allowed(j *Job, a Author) error {
	if err := d.judge.Allowed(j, a); err != nil {
		return err
	}
	if d.Answer != AnswerAdmit {
		return nil
	}
	for _, id := range d.On {
		e, ok := j.held[id]
		if !ok {
			continue
		}
		if e.By == a.Person {
			return refuse("nobody admits a record of their own; another supervisor has to look at it")
		}
		if err := readable(e); err != nil {
			return refuse("it can't be admitted: " + err.Error())
		}
	}
	return nil
}

// Fits wants entries that are held.
func (d *Admission) Fits(j *Job) error {
	for _, id := range d.On {
		if _, ok := j.held[id]; !ok {
			return &InputError{Field: "on", Value: id, Hint: "no entry of this job with that id waits for an answer"}
		}
	}
	return nil
}

// names pins what was judged by its hash.
func (d *Admission) names(j *Job) []Ref {
	refs := make([]Ref, 0, len(d.On))
	for _, id := range d.On {
		if e, ok := j.held[id]; ok {
			refs = append(refs, Ref{e.Hash, Sees})
		}
	}
	return refs
}

func (d *Admission) apply(j *Job, r *Record) { j.put(r) }

func (d *Admission) says(*Job, *Record) string {
	if d.Answer == AnswerAdmit {
		return Count(len(d.On), "held record") + " taken in: " + d.Reason
	}
	return Count(len(d.On), "held record") + " not taken: " + d.Reason
}
