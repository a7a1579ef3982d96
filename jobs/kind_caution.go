package jobs

import "strings"

var _ = registerKind[Caution]("caution", 1)

// Caution records who decided on something that can hurt somebody, and what. The program shows the question and keeps the
// answer; it never gives one.
type Caution struct {
	Common
	anyone
	Surface   string `json:"surface,omitempty" on:"surface"`
	Structure string `json:"structure,omitempty" on:"structure"`
	Code      string `json:"code"`
	Answer    string `json:"answer"`
	DecidedBy string `json:"decided_by"`
	// Load is the added load that the question of load was answered for; the program writes it.
	Load *float64 `json:"load_kn_m2,omitempty"`
}

// Valid wants the question, the answer and who decided.
func (d *Caution) Valid() error {
	for _, f := range []struct{ field, v string }{{"surface", d.Surface}, {"structure", d.Structure}} {
		if f.v == "" {
			continue
		}
		if err := code(f.field, f.v); err != nil {
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
	if err := optional(LevelOfLoadRange, "load_kn_m2", d.Load); err != nil {
		return err
	}
	return d.valid()
}

// Fits refuses a place that the job does not have.
func (d *Caution) Fits(j *Job) error {
	if d.Structure != "" && j.Structure(d.Structure) == nil {
		return &InputError{Field: "structure", Value: d.Structure, Hint: "no structure has that code"}
	}
	return AtLayer{Surface: d.Surface}.Fits(j)
}

// fills takes down the load that the answer is about: a load that grows afterwards asks again.
func (d *Caution) fills(j *Job, tree map[string]any) error {
	if d.Load != nil {
		return &InputError{Field: "load_kn_m2", Value: "given", Hint: "the program writes it itself, from the job as it stands"}
	}
	if d.Code != CautionLoad {
		return nil
	}
	load := 0.0
	for _, s := range j.Surfaces {
		if d.Structure != "" && s.Structure != d.Structure || d.Surface != "" && compareCodes(s.Code, d.Surface) != 0 {
			continue
		}
		load = max(load, j.loadAsked(s))
	}
	tree["load_kn_m2"] = number3(load)
	return nil
}

func (d *Caution) apply(j *Job, r *Record) { j.put(r) }

func (d *Caution) says(*Job, *Record) string {
	return d.Code + ": " + strings.TrimRight(d.Answer, ". ") + ". Decided by " + d.DecidedBy
}
