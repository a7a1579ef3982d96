package acoustics

import "errors"

// BuildUp is everything between two rooms: the existing structure and what is added to it, from one face to the other; floors from below
// upward.
type BuildUp struct {
	// Surface is wall, ceiling, floor or soffit.
	Surface string `json:"surface"`
	// WidthM and HeightM are the size of the partition in m, 0.1 to 100.
	WidthM  float64 `json:"width_m"`
	HeightM float64 `json:"height_m"`
	Layers  []Layer `json:"layers"`
	// Gaps are slits in one leaf each.
	Gaps []Gap `json:"gaps,omitempty"`
	// PointBridges are rigid points that cross a cavity, such as screws that hit what they should not.
	PointBridges []PointBridge `json:"point_bridges_per_m2,omitempty"`
	// Unknown are defects whose effect nobody has published, in words, such as boxes back to back or downlights: they change no value, each
	// widens the uncertainty and is named in the notes. No input has them.
	Unknown []string `json:"-"`
}

// Gap is a slit in one leaf.
type Gap struct {
	// Leaf counts from the first, 1 upward.
	Leaf int `json:"leaf"`
	// LengthM in m, 0.001 to 1000.
	LengthM float64 `json:"length_m"`
	// WidthMM in mm, 0.01 to 100.
	WidthMM float64 `json:"width_mm"`
	// DepthMM in mm, 0.1 to 1000.
	DepthMM float64 `json:"depth_mm"`
}

// PointBridge is a number of rigid points for each m² that cross a cavity.
type PointBridge struct {
	// Cavity counts cavities and resilient mats from the first, 1 upward; adjacent ones count as one.
	Cavity int `json:"cavity"`
	// N is the number for each m², 0 to 100.
	N float64 `json:"n"`
}

// Prediction is what a build-up is calculated to do in a laboratory, without flanking.
type Prediction struct {
	MassKgM2    float64 `json:"mass_kg_m2"`
	ThicknessMM float64 `json:"thickness_mm"`
	// CriticalHz has one critical frequency for each layer with bending stiffness, in order.
	CriticalHz []float64 `json:"critical_hz"`
	// ResonanceHz has the mass-spring-mass resonances, one for each cavity or resilient layer.
	ResonanceHz []float64 `json:"resonance_hz"`
	// R is the sound reduction index.
	R     Curve `json:"r_db"`
	RwDB  int   `json:"rw_db"`
	CDB   int   `json:"c_db"`
	CtrDB int   `json:"ctr_db"`
	// UDB is the standard uncertainty (k = 1) of RwDB.
	UDB float64 `json:"u_db"`
	// Validated says that measured rows of the same family stand behind the prediction.
	Validated bool     `json:"validated"`
	Notes     []string `json:"notes"`
	// Ln and what follows are for floors, where impact sound can be honestly predicted.
	Ln        *Curve   `json:"ln_db,omitempty"`
	LnwDB     *int     `json:"lnw_db,omitempty"`
	CIDB      *int     `json:"ci_db,omitempty"`
	DeltaLwDB *float64 `json:"delta_lw_db,omitempty"`
	LnwUDB    *float64 `json:"lnw_u_db,omitempty"`
}

// Ranges of a build-up.
var (
	SizeRange      = Range{Min: 0.1, Max: 100, Unit: "m"}
	GapLengthRange = Range{Min: 0.001, Max: 1000, Unit: "m"}
	GapWidthRange  = Range{Min: 0.01, Max: 100, Unit: "mm"}
	GapDepthRange  = Range{Min: 0.1, Max: 1000, Unit: "mm"}
	BridgeRange    = Range{Min: 0, Max: 100, Unit: "per m²"}
)

// maxLayers is more than any wall has.
const maxLayers = 60

// Valid joins one [InputError] for each thing that is wrong.
func (b BuildUp) Valid() error {
	errs := []error{
		oneOf("surface", b.Surface, "wall", "ceiling", "floor", "soffit"),
		SizeRange.Check("width_m", b.WidthM),
		SizeRange.Check("height_m", b.HeightM),
	}
	if n := len(b.Layers); n == 0 || n > maxLayers {
		errs = append(errs, &InputError{Field: "layers", Value: "a list of " + number(float64(n)), Range: "1 to 60", Unit: "layers"})
	}
	errs = append(errs, validLayers("layers", b.Layers)...)
	for i, g := range b.Gaps {
		errs = append(errs, g.Valid(indexed("gaps", i)))
	}
	for i, p := range b.PointBridges {
		errs = append(errs, p.Valid(indexed("point_bridges_per_m2", i)))
	}
	return errors.Join(errs...)
}

// Valid checks every field of the slit; that the leaf exists is checked by [BuildUp.Predict].
func (g Gap) Valid(path string) error {
	return errors.Join(
		countFrom1(join(path, "leaf"), g.Leaf),
		GapLengthRange.Check(join(path, "length_m"), g.LengthM),
		GapWidthRange.Check(join(path, "width_mm"), g.WidthMM),
		GapDepthRange.Check(join(path, "depth_mm"), g.DepthMM),
	)
}

// Valid checks every field; that the cavity exists is checked by [BuildUp.Predict].
func (p PointBridge) Valid(path string) error {
	return errors.Join(countFrom1(join(path, "cavity"), p.Cavity), BridgeRange.Check(join(path, "n"), p.N))
}

func countFrom1(field string, n int) error {
	return Range{Min: 1, Max: maxLayers}.Check(field, float64(n))
}
