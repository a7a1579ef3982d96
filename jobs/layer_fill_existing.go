package jobs

import (
	"errors"

	"tacet/acoustics"
)

// FillExisting is wool laid into a cavity of the existing structure: between joists, behind a face. It adds mass and no
// thickness.
type FillExisting struct {
	// Existing counts the layers of the existing structure, from 1.
	Existing int             `json:"existing"`
	Fill     *acoustics.Fill `json:"fill"`
}

var _ = acoustics.RegisterKind("fill_existing", func() acoustics.Element { return FillExisting{} })

// Kind is "fill_existing".
func (FillExisting) Kind() string { return "fill_existing" }

// Valid checks the number and the fill.
func (f FillExisting) Valid(path string) error {
	if f.Fill == nil {
		return errors.Join(existingNumber(path, f.Existing), &InputError{Field: path + ".fill", Value: "missing", Range: "thickness_mm and density_kg_m3"})
	}
	return errors.Join(existingNumber(path, f.Existing), f.Fill.Valid(path+".fill"))
}

func existingNumber(path string, n int) error {
	if n < 1 || n > 60 {
		return &InputError{Field: path + ".existing", Value: itoa(n), Range: "a layer of the existing structure, from 1"}
	}
	return nil
}

// MassKgM2 is the mass of the wool.
func (f FillExisting) MassKgM2() float64 {
	if f.Fill == nil {
		return 0
	}
	return f.Fill.DensityKgM3 * f.Fill.ThicknessMM / 1000
}

// ThicknessMM is 0: the wool lies in what exists.
func (FillExisting) ThicknessMM() float64 { return 0 }

// Role is that of a cavity: it absorbs.
func (FillExisting) Role() acoustics.Role { return acoustics.RoleCavity }

// Weighed is the layer as it is.
func (f FillExisting) Weighed(_, _ float64) acoustics.Element { return f }
