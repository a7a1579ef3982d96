package jobs

var _ = registerKind[Deliver]("deliver", 1)

// Deliver records material that arrived.
type Deliver struct {
	Common
	AtLayer
	anyone
	Material string   `json:"material"`
	MassKgM2 *float64 `json:"mass_kg_m2,omitempty"`
	Quantity *float64 `json:"quantity"`
	Unit     string   `json:"unit"`
	Batch    string   `json:"batch,omitempty"`
}

// Valid checks what was delivered and how much.
func (d *Deliver) Valid() error {
	if err := d.anywhere(); err != nil {
		return err
	}
	if err := text("material", d.Material, 1, 200); err != nil {
		return err
	}
	if err := optional(MassRange, "mass_kg_m2", d.MassKgM2); err != nil {
		return err
	}
	if err := needed(QuantityRange, "quantity", d.Quantity); err != nil {
		return err
	}
	if err := text("unit", d.Unit, 1, 40); err != nil {
		return err
	}
	if err := text("batch", d.Batch, 0, 100); err != nil {
		return err
	}
	return d.valid()
}

func (d *Deliver) apply(j *Job, r *Record) { j.put(r) }
