package jobs

var _ = registerKind[Audit]("audit", 1)

// Audit is the supervisor's answer to a layer that is ready to be seen.
type Audit struct {
	Common
	AtLayer
	judge
	Answer AuditAnswer `json:"answer"`
	Sees   []string    `json:"sees,omitempty" ref:"sees"`
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
	return d.valid()
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
	refs = append(refs, refsTo(Base, j.heads(s.of("audit", d.Layer), j.now()))...)
	return refs[:min(len(refs), MaxRefs/2)]
}

func (d *Audit) apply(j *Job, r *Record) { j.put(r) }
