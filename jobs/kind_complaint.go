package jobs

var (
	_ = registerKind[Complaint]("complaint", 1)
	_ = registerKind[Outcome]("outcome", 1)
)

// Complaint is what somebody complained of, in their own words.
type Complaint struct {
	Common
	anyone
	Surface  string `json:"surface,omitempty" on:"surface"`
	Words    string `json:"words"`
	Kind     string `json:"kind"`
	Received string `json:"received"`
}

// Valid wants the words, the kind of noise and when it was received.
func (d *Complaint) Valid() error {
	if d.Surface != "" {
		if err := code("surface", d.Surface); err != nil {
			return err
		}
	}
	if err := text("words", d.Words, 1, 4000); err != nil {
		return err
	}
	if err := text("kind", d.Kind, 1, 100); err != nil {
		return err
	}
	if err := text("received", d.Received, 1, 100); err != nil {
		return err
	}
	return d.valid()
}

// Fits refuses a surface that the job does not have.
func (d *Complaint) Fits(j *Job) error { return AtLayer{Surface: d.Surface}.Fits(j) }

func (d *Complaint) apply(j *Job, r *Record) { j.put(r) }

// Outcome is how a complaint ended.
type Outcome struct {
	Common
	Outcome    string `json:"outcome"`
	Cause      string `json:"cause"`
	Confidence string `json:"confidence"`
}

// Valid wants outcome, cause and how sure the cause is.
func (d *Outcome) Valid() error {
	if err := choice("outcome", d.Outcome, "query_explained", "not_our_element", "ours_put_right", "ours_not_put_right", "adjudication", "withdrawn", "lost_contact"); err != nil {
		return err
	}
	if err := choice("cause", d.Cause, "under_specified", "not_built_as_specified", "later_damage", "flanking_declined", "flanking_missed", "low_frequency_limit", "services", "expectation", "unrelated", "unknown"); err != nil {
		return err
	}
	if err := choice("confidence", d.Confidence, "tested", "opened", "reasoned", "guessed"); err != nil {
		return err
	}
	return d.valid()
}

// Allowed is the right of the office and of supervisors.
func (d *Outcome) Allowed(_ *Job, a Author) error {
	if !a.Role.Specifies() {
		return refuse("the outcome of a complaint is recorded by the supervisor or the office")
	}
	return nil
}

// Fits wants a complaint.
func (d *Outcome) Fits(j *Job) error {
	r := j.byID[d.Over]
	if r == nil || r.Kind != "complaint" {
		return &InputError{Field: "over", Value: orMissing(d.Over), Hint: "name the complaint that ended"}
	}
	return nil
}

func (d *Outcome) apply(j *Job, r *Record) { j.put(r) }
