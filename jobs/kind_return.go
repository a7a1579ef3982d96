package jobs

var _ = registerKind[Return]("return", 1)

// Return is material that left the job again: to the supplier, to stores for the next job, or into the skip.
type Return struct {
	Common
	AtLayer
	anyone
	Material string   `json:"material"`
	Quantity *float64 `json:"quantity"`
	Unit     string   `json:"unit"`
	Reason   string   `json:"reason"`
	To       string   `json:"to"`
	Batch    string   `json:"batch,omitempty"`
}

// ReturnReasons lists why material leaves a job.
func ReturnReasons() []string { return []string{"surplus", "damaged", "wet", "wrong"} }

// ReturnTo lists where it goes.
func ReturnTo() []string { return []string{"supplier", "stores", "other_job", "waste"} }

// Valid checks what went, how much, why and where.
func (d *Return) Valid() error {
	if err := d.anywhere(); err != nil {
		return err
	}
	if err := text("material", d.Material, 1, 200); err != nil {
		return err
	}
	if err := needed(QuantityRange, "quantity", d.Quantity); err != nil {
		return err
	}
	if err := text("unit", d.Unit, 1, 40); err != nil {
		return err
	}
	if err := choice("reason", d.Reason, ReturnReasons()...); err != nil {
		return err
	}
	if err := choice("to", d.To, ReturnTo()...); err != nil {
		return err
	}
	if err := text("batch", d.Batch, 0, 100); err != nil {
		return err
	}
	return d.valid()
}

func (d *Return) apply(j *Job, r *Record) { j.put(r) }

func (d *Return) says(*Job, *Record) string {
	return "returned: " + trim(value(d.Quantity)) + " " + d.Unit + " " + d.Material + " (" + d.Reason + ", to " + words(d.To) + ")"
}
