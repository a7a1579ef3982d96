package jobs

var _ = registerKind[Caution]("caution", 1)

// Caution records who decided on something that can hurt somebody, and what. The program shows the question and keeps the
// answer; it never gives one.
type Caution struct {
	Common
	anyone
	Surface   string `json:"surface,omitempty" on:"surface"`
	Code      string `json:"code"`
	Answer    string `json:"answer"`
	DecidedBy string `json:"decided_by"`
}

// Valid wants the question, the answer and who decided.
func (d *Caution) Valid() error {
	if d.Surface != "" {
		if err := code("surface", d.Surface); err != nil {
			return err
		}
	}
	if err := choice("code", d.Code, CautionCodes()...); err != nil {
		return err
	}
	if err := text("answer", d.Answer, 1, 1000); err != nil {
		return err
	}
	if err := text("decided_by", d.DecidedBy, 1, 200); err != nil {
		return err
	}
	return d.valid()
}

// Fits refuses a surface that the job does not have.
func (d *Caution) Fits(j *Job) error { return AtLayer{Surface: d.Surface}.Fits(j) }

func (d *Caution) apply(j *Job, r *Record) { j.put(r) }
