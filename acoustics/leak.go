package acoustics

import (
	"errors"
	"fmt"
	"math"
	"strconv"
)

// LeakInput asks what slits and holes right through a partition leave of its reduction.
type LeakInput struct {
	// R is the reduction of the partition without the leak, in dB.
	R Curve `json:"r_db"`
	// AreaM2 is the area of the partition in m².
	AreaM2 float64 `json:"area_m2"`
	Slits  []Slit  `json:"slits,omitempty"`
	// OpenAreaM2 is the area of plain holes in m², through which everything passes (τ = 1).
	OpenAreaM2 float64 `json:"open_area_m2,omitempty"`
}

// Slit is a straight gap right through a partition.
type Slit struct {
	// LengthM in m, 0.001 to 1000.
	LengthM float64 `json:"length_m"`
	// WidthMM in mm, 0.01 to 100.
	WidthMM float64 `json:"width_mm"`
	// DepthMM is the way through in mm, 0.1 to 1000.
	DepthMM float64 `json:"depth_mm"`
	// Position is mid (in the surface) or edge (at an edge or corner); empty: edge.
	Position string `json:"position,omitempty"`
}

// LeakResult is the reduction with the leak.
type LeakResult struct {
	R    Curve `json:"r_db"`
	RwDB int   `json:"rw_db"`
	// LossDB is R_w before less R_w after.
	LossDB int      `json:"loss_db"`
	Notes  []string `json:"notes"`
}

// OpenAreaRange is what the area of holes may be.
var OpenAreaRange = Range{Min: 0, Max: 1000, Unit: "m²"}

// Valid checks every field.
func (in LeakInput) Valid() error {
	errs := []error{
		AreaRange.Check("area_m2", in.AreaM2),
		OpenAreaRange.Check("open_area_m2", in.OpenAreaM2),
		validLevels("r_db", in.R),
	}
	if !in.R.Has(100, 3150) {
		errs = append(errs, &InputError{Field: "r_db", Value: "without some bands", Range: "every third-octave band from 100 to 3150 Hz"})
	}
	open := in.OpenAreaM2
	for i, s := range in.Slits {
		errs = append(errs, s.Valid(indexed("slits", i)))
		open += s.LengthM * s.WidthMM / 1000
	}
	if err := errors.Join(errs...); err != nil {
		return err
	}
	if open > in.AreaM2 {
		return &InputError{Field: "area_m2", Value: number(in.AreaM2), Range: "at least " + number(open), Unit: "m²", Hint: "slits and holes are larger than the partition"}
	}
	return nil
}

// Valid checks every field of the slit.
func (s Slit) Valid(path string) error {
	errs := []error{
		GapLengthRange.Check(join(path, "length_m"), s.LengthM),
		GapWidthRange.Check(join(path, "width_mm"), s.WidthMM),
		GapDepthRange.Check(join(path, "depth_mm"), s.DepthMM),
	}
	if s.Position != "" {
		errs = append(errs, oneOf(join(path, "position"), s.Position, "mid", "edge"))
	}
	return errors.Join(errs...)
}

// validLevels checks the values of a curve.
func validLevels(field string, c Curve) error {
	var errs []error
	for hz, db := range c.All() {
		errs = append(errs, LevelRange.Check(join(field, strconv.Itoa(hz)), db))
	}
	return errors.Join(errs...)
}

// With returns the reduction of partition and leaks together, by their areas:
//
//	R = -10 lg(Σ S_i τ_i/Σ S_i)
//
// The slit formula is averaged over each band. Near its resonances more passes than falls on the slit's own area, so τ may exceed 1 there;
// it is kept and noted. Source: arithmetic for the sum; [SlitTransmission] for the slits.
func (in LeakInput) With() (LeakResult, error) {
	if err := in.Valid(); err != nil {
		return LeakResult{}, err
	}
	before, err := RateAirborne(in.R)
	if err != nil {
		return LeakResult{}, err
	}
	out := LeakResult{Notes: []string{}}
	resonant, wide := 0, 0
	for hz, db := range in.R.All() {
		f := float64(hz)
		rest := in.AreaM2 - in.OpenAreaM2
		passed := in.OpenAreaM2
		for _, s := range in.Slits {
			area := s.LengthM * s.WidthMM / 1000
			rest -= area
			tau := s.bandAverage(f)
			passed += area * tau
			if tau > 1 && resonant == 0 {
				resonant = hz
			}
			if s.WidthMM/1000 > 0.3*c0/f && wide == 0 {
				wide = hz
			}
		}
		passed += rest * math.Pow(10, -db/10)
		out.R.Set(hz, decibels(passed/in.AreaM2))
	}
	out.R = out.R.Rounded()
	after, err := RateAirborne(out.R)
	if err != nil {
		return LeakResult{}, err
	}
	out.RwDB, out.LossDB = after.Value, before.Value-after.Value
	if resonant > 0 {
		out.Notes = append(out.Notes, fmt.Sprintf("at %d Hz and perhaps above a slit passes more than falls on its own area: sound bends into it, and it resonates along its depth, less in reality through friction", resonant))
	}
	if wide > 0 {
		out.Notes = append(out.Notes, fmt.Sprintf("from %d Hz a slit is wider than 0.3 of the wavelength, beyond the slit formula", wide))
	}
	return out, nil
}

// bandAverage is τ of the slit over a third-octave band; narrow resonances need many frequencies.
func (s Slit) bandAverage(f float64) float64 {
	const points = 60
	var sum float64
	for i := range points {
		at := f * math.Pow(2, ((float64(i)+0.5)/points-0.5)/3)
		sum += SlitTransmission(at, s.WidthMM/1000, s.DepthMM/1000, s.Position != "mid")
	}
	return sum / points
}
