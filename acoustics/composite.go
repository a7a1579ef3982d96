package acoustics

import "math"

// Part is a part of a surface with its own reduction.
type Part struct {
	// AreaM2 is its area in m², above 0 to 1000.
	AreaM2 float64
	R      Curve
}

// Composite returns the reduction of a surface of parts in the same plane, such as one where a board, or the wool behind it, is missing over
// a share of the area, in dB, in the bands that all parts have.
//
//	R = -10 lg(Σ S_i 10^(-R_i/10)/Σ S_i)
//	area        S_i   m²   above 0 to 1000
//	reduction   R_i   dB   in bands
//
// Each part is taken to sound as if it filled the surface: below the resonance of a leaf that both parts share, that is too pessimistic.
// Source: arithmetic. Checked in composite_test.go.
func Composite(parts ...Part) (Curve, error) {
	var out Curve
	if len(parts) == 0 {
		return out, &InputError{Field: "parts", Value: "a list of 0", Range: "1 or more"}
	}
	for i, p := range parts {
		if err := AreaRange.Check(indexed("parts", i)+".area_m2", p.AreaM2); err != nil {
			return out, err
		}
		if err := validLevels(indexed("parts", i)+".r_db", p.R); err != nil {
			return out, err
		}
	}
	for hz := range parts[0].R.All() {
		var passed, area float64
		all := true
		for _, p := range parts {
			db, ok := p.R.At(hz)
			all = all && ok
			passed += p.AreaM2 * math.Pow(10, -db/10)
			area += p.AreaM2
		}
		if all {
			out.Set(hz, decibels(passed/area))
		}
	}
	return out, nil
}
