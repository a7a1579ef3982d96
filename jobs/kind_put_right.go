package jobs

var _ = registerKind[PutRight]("put_right", 1)

// PutRight tells that what an earlier entry found wrong was corrected, how long it took and why it was wrong.
type PutRight struct {
	Common
	anyone
	Cause Cause    `json:"cause"`
	Hours *float64 `json:"hours"`
	Cost  *float64 `json:"cost,omitempty"`
}

// Cause is why something had to be put right: by cause, not by blame.
type Cause string

// The causes.
const (
	CauseMaterial   Cause = "material"
	CauseMethod     Cause = "method"
	CauseDrawing    Cause = "drawing"
	CauseOtherTrade Cause = "other_trade"
	CauseHaste      Cause = "haste"
	CauseNotTold    Cause = "not_told"
)

// Causes lists them.
func Causes() []Cause {
	return []Cause{CauseMaterial, CauseMethod, CauseDrawing, CauseOtherTrade, CauseHaste, CauseNotTold}
}

// Valid asks for the entry that found the fault, the cause and the hours.
func (d *PutRight) Valid() error {
	if err := choice("cause", d.Cause, Causes()...); err != nil {
		return err
	}
	if err := needed(HoursRange, "hours", d.Hours); err != nil {
		return err
	}
	if err := optional(CostRange, "cost", d.Cost); err != nil {
		return err
	}
	return d.valid()
}

// Fits wants an entry that found something wrong.
func (d *PutRight) Fits(j *Job) error {
	r := j.byID[d.Over]
	if r == nil {
		return &InputError{Field: "over", Value: orMissing(d.Over), Hint: "name the entry that found the fault"}
	}
	if !findsFault(r) {
		return &InputError{Field: "over", Value: d.Over, Hint: "that entry is a " + r.Kind + " and found no fault"}
	}
	return nil
}

// findsFault tells whether a record says that something is wrong.
func findsFault(r *Record) bool {
	switch w := r.What.(type) {
	case *CheckResult:
		return w.Result == Fail
	case *Audit:
		return w.Answer == AnswerPutRight
	case *Complaint, *SoundTest:
		return true
	}
	return false
}

func (d *PutRight) apply(j *Job, r *Record) { j.put(r) }

func (d *PutRight) says(*Job, *Record) string {
	return "put right, " + trim(value(d.Hours)) + " h, cause: " + words(string(d.Cause))
}
