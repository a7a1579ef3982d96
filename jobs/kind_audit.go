package jobs

var _ = registerKind[Audit]("audit", 1)

// Audit is the supervisor's answer to a layer that is ready to be seen.
type Audit struct {
	Common
	AtLayer
	judge
	Answer AuditAnswer `json:"answer"`
	Sees   []string    `json:"sees,omitempty" ref:"sees"`
	Grade  Grade       `json:"grade,omitempty"` // of what is to be put right; before sign-off unless said
	Acts   string      `json:"acts,omitempty"`  // who has to put it right
	Until  string      `json:"until,omitempty"` // by when, RFC 3339
}

// AuditAnswer is one of the three answers.
type AuditAnswer string

// The three answers: cover it, put this right first, I am coming.
const (
	AnswerCover    AuditAnswer = "cover"
	AnswerPutRight AuditAnswer = "put_right"
	AnswerComing   AuditAnswer = "coming"
)

// Valid checks the answer; putting right needs words.
func (d *Audit) Valid() error {
	if err := d.onLayer(); err != nil {
		return err
	}
	if err := choice("answer", d.Answer, AnswerCover, AnswerPutRight, AnswerComing); err != nil {
		return err
	}
	if d.Answer != AnswerPutRight && (d.Grade != "" || d.Acts != "" || d.Until != "") {
		return &InputError{Field: "grade", Value: "given", Hint: "only what is to be put right has a grade, somebody who acts and a date"}
	}
	if d.Grade != "" {
		if err := choice("grade", d.Grade, Grades()...); err != nil {
			return err
		}
	}
	if err := text("acts", d.Acts, 0, 200); err != nil {
		return err
	}
	if err := timestamp("until", d.Until); err != nil {
		return err
	}
	return d.valid()
}

// Allowed is the right of those who judge; nobody accepts work of their own.
func (d *Audit) Allowed(j *Job, a Author) error {
	if err := d.judge.Allowed(j, a); err != nil || d.Answer != AnswerCover {
		return err
	}
	return j.mayAccept(a, d.Surface, d.Layer)
}

// names points to what the supervisor had before them, where they did not say it themselves.
func (d *Audit) names(j *Job) []Ref {
	refs := d.listRef(j)
	s := j.Surface(d.Surface)
	if s == nil {
		return refs
	}
	if len(d.Sees) == 0 {
		for _, c := range s.ChecksOf(d.Layer) {
			refs = append(refs, refsTo(Sees, c.Heads)...)
		}
	}
	refs = append(refs, j.curesOf(s, d.Layer)...)
	as := Base
	if d.Answer == AnswerComing {
		as = Sees // who is on the way has not taken back what they asked for
	}
	refs = append(refs, refsTo(as, j.heads(s.of("audit", d.Layer), j.now()))...)
	return refs[:min(len(refs), MaxRefs/2)]
}

func (d *Audit) apply(j *Job, r *Record) { j.put(r) }

func (d *Audit) says(*Job, *Record) string {
	return map[AuditAnswer]string{AnswerCover: "may be covered", AnswerPutRight: "put this right first", AnswerComing: "the supervisor is coming"}[d.Answer]
}
