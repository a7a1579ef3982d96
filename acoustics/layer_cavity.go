package acoustics

import (
	"errors"
	"fmt"
)

// Cavity is a space between two leaves, with or without wool and framing.
type Cavity struct {
	// Depth in mm, 1 to 2000.
	Depth float64 `json:"depth_mm"`
	// Fill is the wool in the cavity, if any.
	Fill *Fill `json:"fill,omitempty"`
	// Frame is what stands in the cavity and may connect its two sides.
	Frame *Frame `json:"frame,omitempty"`
}

// Fill is porous material in a cavity.
type Fill struct {
	// ThicknessMM in mm, 1 to the depth of the cavity.
	ThicknessMM float64 `json:"thickness_mm"`
	// DensityKgM3 in kg/m³, 4 to 250.
	DensityKgM3 float64 `json:"density_kg_m3"`
	// FlowResistivityKPaSM2 is the air flow resistivity r in kPa·s/m², 0.5 to 300; nil: estimated from the density.
	FlowResistivityKPaSM2 *float64 `json:"flow_resistivity_kpa_s_m2,omitempty"`
}

// Frame is the framing in a cavity.
type Frame struct {
	// Kind is none, timber_stud, steel_stud, staggered_stud, twin_frame, independent or joist.
	Kind string `json:"kind"`
	// SpacingMM is the distance of studs, joists or channels from centre to centre in mm, 100 to 2000; nil: 600 mm.
	SpacingMM *float64 `json:"spacing_mm,omitempty"`
	// MassKgM2 is the mass of the framing in kg/m², 0 to 200.
	MassKgM2 *float64 `json:"mass_kg_m2,omitempty"`
	// Resilient is bar (resilient bar or channel) or clip (resilient clip with channel) where one side is decoupled by it; empty: neither.
	Resilient string `json:"resilient,omitempty"`
	// Side is where the resilient part is: 1 towards the first layer of the build-up, 2 away from it.
	Side *int `json:"side,omitempty"`
}

var _ = RegisterKind("cavity", func() Element { return Cavity{} })

// Ranges of cavities.
var (
	DepthRange           = Range{Min: 1, Max: 2000, Unit: "mm"}
	FillDensityRange     = Range{Min: 4, Max: 250, Unit: "kg/m³"}
	FlowResistivityRange = Range{Min: 0.5, Max: 300, Unit: "kPa·s/m²"}
	SpacingRange         = Range{Min: 100, Max: 2000, Unit: "mm"}
	FrameMassRange       = Range{Min: 0, Max: 200, Unit: "kg/m²"}
)

// FrameKinds lists the kinds of framing.
func FrameKinds() []string {
	return []string{"none", "timber_stud", "steel_stud", "staggered_stud", "twin_frame", "independent", "joist"}
}

// Kind is "cavity".
func (c Cavity) Kind() string { return "cavity" }

// MassKgM2 is the mass of framing and fill in kg/m²; framing whose mass is left out counts nothing.
func (c Cavity) MassKgM2() float64 {
	var m float64
	if c.Fill != nil {
		m += c.Fill.massKgM2()
	}
	if c.Frame != nil && c.Frame.MassKgM2 != nil {
		m += *c.Frame.MassKgM2
	}
	return m
}

func (f Fill) massKgM2() float64 { return f.DensityKgM3 * f.ThicknessMM / 1000 }

// ThicknessMM is the depth in mm.
func (c Cavity) ThicknessMM() float64 { return c.Depth }

// Role is [RoleCavity].
func (c Cavity) Role() Role { return RoleCavity }

// Weighed is the cavity as it is.
func (c Cavity) Weighed(_, _ float64) Element { return c }

// Valid checks the depth, the fill, which can't be thicker than the cavity, and the framing.
func (c Cavity) Valid(path string) error {
	errs := []error{DepthRange.Check(join(path, "depth_mm"), c.Depth)}
	if c.Fill != nil {
		errs = append(errs, c.Fill.Valid(join(path, "fill")))
		if c.Fill.ThicknessMM > c.Depth && DepthRange.Check("", c.Depth) == nil {
			errs = append(errs, &InputError{
				Field: join(path, "fill.thickness_mm"), Value: number(c.Fill.ThicknessMM), Range: "at most " + number(c.Depth), Unit: "mm",
				Hint: fmt.Sprintf("the cavity is %s mm deep", number(c.Depth)),
			})
		}
	}
	if c.Frame != nil {
		errs = append(errs, c.Frame.Valid(join(path, "frame")))
	}
	return errors.Join(errs...)
}

// Valid checks every field of the fill.
func (f Fill) Valid(path string) error {
	return errors.Join(
		DepthRange.Check(join(path, "thickness_mm"), f.ThicknessMM),
		FillDensityRange.Check(join(path, "density_kg_m3"), f.DensityKgM3),
		FlowResistivityRange.checkOptional(join(path, "flow_resistivity_kpa_s_m2"), f.FlowResistivityKPaSM2),
	)
}

// Valid checks every field of the framing.
func (f Frame) Valid(path string) error {
	errs := []error{
		oneOf(join(path, "kind"), f.Kind, FrameKinds()...),
		SpacingRange.checkOptional(join(path, "spacing_mm"), f.SpacingMM),
		FrameMassRange.checkOptional(join(path, "mass_kg_m2"), f.MassKgM2),
	}
	if f.Resilient != "" {
		errs = append(errs, oneOf(join(path, "resilient"), f.Resilient, "bar", "clip"))
	}
	if f.Side != nil && *f.Side != 1 && *f.Side != 2 {
		errs = append(errs, &InputError{Field: join(path, "side"), Value: fmt.Sprint(*f.Side), Range: "1 or 2"})
	}
	return errors.Join(errs...)
}
