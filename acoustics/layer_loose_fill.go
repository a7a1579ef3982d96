package acoustics

import "errors"

// LooseFill is sand, pugging or another poured layer: weight without stiffness.
type LooseFill struct {
	// Thickness in mm, 0.1 to 1000.
	Thickness float64 `json:"thickness_mm"`
	// Mass in kg/m², 0.1 to 3000.
	Mass float64 `json:"mass_kg_m2"`
}

var _ = RegisterKind("loose_fill", func() Element { return LooseFill{} })

// Kind is "loose_fill".
func (l LooseFill) Kind() string { return "loose_fill" }

// MassKgM2 is the surface mass in kg/m².
func (l LooseFill) MassKgM2() float64 { return l.Mass }

// ThicknessMM is the thickness in mm.
func (l LooseFill) ThicknessMM() float64 { return l.Thickness }

// Role is [RoleLoose].
func (l LooseFill) Role() Role { return RoleLoose }

// Weighed is the layer with another mass and thickness.
func (l LooseFill) Weighed(massKgM2, thicknessMM float64) Element {
	l.Mass, l.Thickness = massKgM2, thicknessMM
	return l
}

// Valid checks every field.
func (l LooseFill) Valid(path string) error {
	return errors.Join(
		ThicknessRange.Check(join(path, "thickness_mm"), l.Thickness),
		validMass(join(path, "mass_kg_m2"), l.Mass, l.Thickness),
	)
}
