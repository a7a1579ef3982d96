package jobs

var _ = registerKind[Correction]("correction", 1)

// Correction switches on or off, for the whole firm, that a new prediction is shown beside what the firm's own measured
// jobs make of it. It never changes a prediction itself: what is quoted and frozen, and what outcomes are held against,
// stays the prediction, or else every correction would be corrected again by its own effect.
type Correction struct {
	Common
	ofFirm
	On     *bool  `json:"on"`
	Reason string `json:"reason"`
}

// Valid wants the switch and the reason.
func (d *Correction) Valid() error {
	if d.On == nil {
		return &InputError{Field: "on", Value: "missing", Range: "true or false"}
	}
	if err := text("reason", d.Reason, 1, 1000); err != nil {
		return err
	}
	return d.valid()
}

// names replaces the setting before.
func (d *Correction) names(j *Job) []Ref {
	return inForce(j, func(*Correction) bool { return true })
}

func (d *Correction) apply(j *Job, r *Record) { j.put(r) }

func (d *Correction) says(*Job, *Record) string {
	if *d.On {
		return "predictions shown beside the firm's own outcomes: " + d.Reason
	}
	return "predictions no longer shown beside the firm's own outcomes: " + d.Reason
}
