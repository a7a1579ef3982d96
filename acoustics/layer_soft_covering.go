package acoustics

import "errors"

// SoftCovering is carpet, cushioned vinyl and the like: it softens footsteps and does nothing for airborne sound but its weight.
type SoftCovering struct {
	// Thickness in mm, 0.1 to 1000.
	Thickness float64 `json:"thickness_mm"`
	// Mass in kg/m², 0.01 to 200.
	Mass float64 `json:"mass_kg_m2"`
	// DeltaLwDB is the weighted improvement ΔL_w on a heavy floor in dB, 0 to 60, from the maker's test.
	DeltaLwDB *float64 `json:"delta_lw_db,omitempty"`
}

var _ = RegisterKind("soft_covering", func() Element { return SoftCovering{} })

// DeltaLwRange is what the weighted impact improvement of a covering may be.
var DeltaLwRange = Range{Min: 0, Max: 60, Unit: "dB"}

// Kind is "soft_covering".
func (s SoftCovering) Kind() string { return "soft_covering" }

// MassKgM2 is the surface mass in kg/m².
func (s SoftCovering) MassKgM2() float64 { return s.Mass }

// ThicknessMM is the thickness in mm.
func (s SoftCovering) ThicknessMM() float64 { return s.Thickness }

// Role is [RoleCovering].
func (s SoftCovering) Role() Role { return RoleCovering }

// Weighed is the layer with another mass and thickness.
func (s SoftCovering) Weighed(massKgM2, thicknessMM float64) Element {
	s.Mass, s.Thickness = massKgM2, thicknessMM
	return s
}

// Valid checks every field.
func (s SoftCovering) Valid(path string) error {
	return errors.Join(
		ThicknessRange.Check(join(path, "thickness_mm"), s.Thickness),
		MatMassRange.Check(join(path, "mass_kg_m2"), s.Mass),
		DeltaLwRange.checkOptional(join(path, "delta_lw_db"), s.DeltaLwDB),
	)
}
