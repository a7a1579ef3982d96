package jobs

var _ = registerKind[Withdraw]("withdraw", 1)

// Withdraw takes an entry out of force, with the reason. The entry stays in the history.
type Withdraw struct {
	Common
	Reason string `json:"reason"`
}

// Valid wants the reason.
func (d *Withdraw) Valid() error {
	if err := text("reason", d.Reason, 1, 1000); err != nil {
		return err
	}
	return d.valid()
}

// Allowed lets everybody withdraw; whether it counts depends on whose entry it is, see [Job.InForce].
func (d *Withdraw) Allowed(*Job, Author) error { return nil }

// Fits wants the entry to withdraw.
func (d *Withdraw) Fits(j *Job) error {
	if j.byID[d.Over] == nil {
		return &InputError{Field: "over", Value: orMissing(d.Over), Hint: "name the entry to withdraw"}
	}
	return nil
}

func (d *Withdraw) apply(j *Job, r *Record) { j.put(r) }

func (d *Withdraw) says(j *Job, r *Record) string {
	return "withdrawn: " + d.Reason + j.whatWas(r)
}
