package acoustics

import "errors"

// Mat is a resilient layer under a floating floor or a floating deck.
type Mat struct {
	// Thickness in mm, 0.1 to 1000.
	Thickness float64 `json:"thickness_mm"`
	// Mass in kg/m², 0.01 to 200.
	Mass float64 `json:"mass_kg_m2"`
	// DynamicStiffnessMNM3 is s' in MN/m³, 0.5 to 5000.
	DynamicStiffnessMNM3 float64 `json:"dynamic_stiffness_mn_m3"`
	// LossFactor is the loss factor of the spring, 0.00001 to 2.
	LossFactor *float64 `json:"loss_factor,omitempty"`
}

var _ = RegisterKind("resilient_mat", func() Element { return Mat{} })

// Ranges of resilient mats.
var (
	MatMassRange          = Range{Min: 0.01, Max: 200, Unit: "kg/m²"}
	DynamicStiffnessRange = Range{Min: 0.5, Max: 5000, Unit: "MN/m³"}
)

// Kind is "resilient_mat".
func (m Mat) Kind() string { return "resilient_mat" }

// MassKgM2 is the surface mass in kg/m².
func (m Mat) MassKgM2() float64 { return m.Mass }

// ThicknessMM is the thickness in mm.
func (m Mat) ThicknessMM() float64 { return m.Thickness }

// Role is [RoleResilient].
func (m Mat) Role() Role { return RoleResilient }

// Weighed is the layer with another mass and thickness.
func (m Mat) Weighed(massKgM2, thicknessMM float64) Element {
	m.Mass, m.Thickness = massKgM2, thicknessMM
	return m
}

// Valid checks every field.
func (m Mat) Valid(path string) error {
	return errors.Join(
		ThicknessRange.Check(join(path, "thickness_mm"), m.Thickness),
		MatMassRange.Check(join(path, "mass_kg_m2"), m.Mass),
		DynamicStiffnessRange.Check(join(path, "dynamic_stiffness_mn_m3"), m.DynamicStiffnessMNM3),
		LossFactorRange.checkOptional(join(path, "loss_factor"), m.LossFactor),
	)
}
