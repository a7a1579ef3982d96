package acoustics

import "errors"

// Membrane is a limp, viscoelastic sheet: weight without bending stiffness. Between two boards it is also a damping layer.
type Membrane struct {
	// Thickness in mm, 0.1 to 1000.
	Thickness float64 `json:"thickness_mm"`
	// Mass in kg/m², 0.1 to 3000; 0 when a material gives it.
	Mass float64 `json:"mass_kg_m2,omitempty"`
	// ShearModulusMPa is G in MPa, 0.001 to 5000, at room temperature and middle frequencies.
	ShearModulusMPa *float64 `json:"shear_modulus_mpa,omitempty"`
	// LossFactor is the loss factor in shear, 0.00001 to 2.
	LossFactor *float64 `json:"loss_factor,omitempty"`
	// Material is the id of a material whose properties fill what is left out.
	Material string `json:"material,omitempty"`
	// Polymer is a viscoelastic material whose stiffness and loss are known over frequency and temperature, and takes the place of
	// ShearModulusMPa and LossFactor; Celsius is its temperature in °C, -40 to 80, nil: 20. No input has them.
	Polymer *Polymer `json:"-"`
	Celsius *float64 `json:"-"`
}

var _ = RegisterKind("membrane", func() Element { return Membrane{} })

// ShearModulusRange is what the shear modulus of a membrane may be.
var ShearModulusRange = Range{Min: 0.001, Max: 5000, Unit: "MPa"}

// Kind is "membrane".
func (m Membrane) Kind() string { return "membrane" }

// MassKgM2 is the surface mass in kg/m².
func (m Membrane) MassKgM2() float64 {
	return massOf(m.Mass, m.Thickness, m.Material)
}

// ThicknessMM is the thickness in mm.
func (m Membrane) ThicknessMM() float64 { return m.Thickness }

// Role is [RoleLimp].
func (m Membrane) Role() Role { return RoleLimp }

// Weighed is the layer with another mass and thickness.
func (m Membrane) Weighed(massKgM2, thicknessMM float64) Element {
	m.Mass, m.Thickness = massKgM2, thicknessMM
	return m
}

// Valid checks every field.
func (m Membrane) Valid(path string) error {
	return errors.Join(
		ThicknessRange.Check(join(path, "thickness_mm"), m.Thickness),
		validMaterial(join(path, "material"), m.Material, "membrane"),
		validMass(join(path, "mass_kg_m2"), m.MassKgM2(), m.Thickness),
		ShearModulusRange.checkOptional(join(path, "shear_modulus_mpa"), m.ShearModulusMPa),
		LossFactorRange.checkOptional(join(path, "loss_factor"), m.LossFactor),
		CelsiusRange.checkOptional(join(path, "celsius"), m.Celsius),
	)
}
