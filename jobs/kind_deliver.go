package jobs

import (
	"fmt"
	"strings"

	"tacet/acoustics"
)

var _ = registerKind[Deliver]("deliver", 1)

// Deliver records material that arrived: against what was ordered, in what condition, and where it lies. What came damaged is not
// there to be fixed.
type Deliver struct {
	Common
	AtLayer
	anyone
	Material string   `json:"material"`
	MassKgM2 *float64 `json:"mass_kg_m2,omitempty"`
	Quantity *float64 `json:"quantity"`
	Unit     string   `json:"unit"`
	Batch    string   `json:"batch,omitempty"`
	Ordered  *float64 `json:"ordered,omitempty"` // how much was to come, in the same unit
	Damaged  *float64 `json:"damaged,omitempty"` // how much of it can't be used, in the same unit
	Wet      bool     `json:"wet,omitempty"`
	Stored   string   `json:"stored,omitempty"` // where and how it lies: flat, dry, on bearers
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
	if err := optional(QuantityRange, "ordered", d.Ordered); err != nil {
		return err
	}
	if err := optional(acoustics.Range{Min: 0, Max: *d.Quantity, Unit: d.Unit}, "damaged", d.Damaged); err != nil {
		return err
	}
	if err := text("stored", d.Stored, 0, 300); err != nil {
		return err
	}
	return d.valid()
}

func (d *Deliver) apply(j *Job, r *Record) { j.put(r) }

// usable is how much of it can be fixed.
func (d *Deliver) usable() float64 { return value(d.Quantity) - value(d.Damaged) }

// says tells what came, and what is not as it should be.
func (d *Deliver) says(*Job, *Record) string {
	says := []string{fmt.Sprintf("delivered: %s %s %s", trim(*d.Quantity), Units(*d.Quantity, d.Unit), d.Material)}
	if d.Ordered != nil && *d.Ordered != *d.Quantity {
		says = append(says, fmt.Sprintf("%s were ordered", trim(*d.Ordered)))
	}
	if value(d.Damaged) > 0 {
		says = append(says, trim(*d.Damaged)+" damaged")
	}
	if d.Wet {
		says = append(says, "wet")
	}
	if d.Stored != "" {
		says = append(says, "lies: "+d.Stored)
	}
	return strings.Join(says, "; ")
}
