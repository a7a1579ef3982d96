package acoustics

import (
	"cmp"
	"errors"
	"fmt"
)

// Board is a solid layer with weight and bending stiffness: a sheet of board, but also plaster, masonry, concrete, timber panels, glass,
// metal and screed, which differ in defaults only. What is left out (nil) is filled by Material, else by the default of the kind.
type Board struct {
	// Of is the kind: board, plaster, masonry, concrete, timber_panel, glass, metal or screed; empty means board.
	Of string `json:"-"`
	// Bonded says that the layer is glued all over to the solid layer before it, so that both bend as one thick sheet; screwed sheets slide on
	// each other. No input has it: what is built is screwed unless a caller knows better.
	Bonded bool `json:"-"`
	// Thickness in mm, 0.1 to 1000.
	Thickness float64 `json:"thickness_mm"`
	// Mass in kg/m², 0.1 to 3000; 0 when a material gives it.
	Mass float64 `json:"mass_kg_m2,omitempty"`
	// YoungsModulusGPa is E in GPa, 0.001 to 500.
	YoungsModulusGPa *float64 `json:"youngs_modulus_gpa,omitempty"`
	// Poisson is Poisson's ratio, 0 to 0.49.
	Poisson *float64 `json:"poisson,omitempty"`
	// LossFactor is the internal loss factor, 0.00001 to 2.
	LossFactor *float64 `json:"loss_factor,omitempty"`
	// Material is the id of a material whose properties fill what is left out.
	Material string `json:"material,omitempty"`
}

var (
	_ = RegisterKind("board", func() Element { return Board{Of: "board"} })
	_ = RegisterKind("plaster", func() Element { return Board{Of: "plaster"} })
	_ = RegisterKind("masonry", func() Element { return Board{Of: "masonry"} })
	_ = RegisterKind("concrete", func() Element { return Board{Of: "concrete"} })
	_ = RegisterKind("timber_panel", func() Element { return Board{Of: "timber_panel"} })
	_ = RegisterKind("glass", func() Element { return Board{Of: "glass"} })
	_ = RegisterKind("metal", func() Element { return Board{Of: "metal"} })
	_ = RegisterKind("screed", func() Element { return Board{Of: "screed"} })
)

// Kind is the word that names the layer in JSON.
func (b Board) Kind() string { return cmp.Or(b.Of, "board") }

// MassKgM2 is the surface mass in kg/m².
func (b Board) MassKgM2() float64 {
	return massOf(b.Mass, b.Thickness, b.Material)
}

// ThicknessMM is the thickness in mm.
func (b Board) ThicknessMM() float64 { return b.Thickness }

// Role is [RoleMass].
func (b Board) Role() Role { return RoleMass }

// Ranges of a solid layer.
var (
	ThicknessRange     = Range{Min: 0.1, Max: 1000, Unit: "mm"}
	MassRange          = Range{Min: 0.1, Max: 3000, Unit: "kg/m²"}
	YoungsModulusRange = Range{Min: 0.001, Max: 500, Unit: "GPa"}
	PoissonRange       = Range{Min: 0, Max: 0.49}
	LossFactorRange    = Range{Min: 1e-5, Max: 2}
	DensityRange       = Range{Min: 5, Max: 23000, Unit: "kg/m³"}
)

// Weighed is the layer with another mass and thickness.
func (b Board) Weighed(massKgM2, thicknessMM float64) Element {
	b.Mass, b.Thickness = massKgM2, thicknessMM
	return b
}

// Valid checks every field and that mass and thickness make a density that exists.
func (b Board) Valid(path string) error {
	return errors.Join(
		ThicknessRange.Check(join(path, "thickness_mm"), b.Thickness),
		validMaterial(join(path, "material"), b.Material, b.Kind()),
		validMass(join(path, "mass_kg_m2"), b.MassKgM2(), b.Thickness),
		YoungsModulusRange.checkOptional(join(path, "youngs_modulus_gpa"), b.YoungsModulusGPa),
		PoissonRange.checkOptional(join(path, "poisson"), b.Poisson),
		LossFactorRange.checkOptional(join(path, "loss_factor"), b.LossFactor),
	)
}

// validMass refuses a mass out of range, or one that no material of that thickness can have.
func validMass(field string, mass, thickness float64) error {
	if mass == 0 {
		return &InputError{Field: field, Value: "0 or left out", Range: MassRange.span(), Unit: MassRange.Unit, Hint: "or name a material that has a density"}
	}
	if err := MassRange.Check(field, mass); err != nil {
		return err
	}
	if ThicknessRange.Check("", thickness) != nil {
		return nil // the thickness is complained of already
	}
	density := mass / (thickness / 1000)
	if DensityRange.Check("", density) != nil {
		low, high := DensityRange.Min*thickness/1000, DensityRange.Max*thickness/1000
		return &InputError{
			Field: field, Value: number(mass), Range: number(low) + " to " + number(high), Unit: MassRange.Unit,
			Hint: fmt.Sprintf("at %s mm it makes %s kg/m³, which no material has", number(thickness), number(density)),
		}
	}
	return nil
}
