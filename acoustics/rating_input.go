package acoustics

import (
	"errors"
	"slices"
	"strconv"
)

// RatingInput asks for the single number of a measured or calculated curve.
type RatingInput struct {
	// Quantity is airborne (R, R', D_nT ...) or impact (L_n, L'_nT ...).
	Quantity string `json:"quantity"`
	// Resolution is third-octave or octave.
	Resolution string `json:"resolution"`
	// ValuesDB are the values by band in dB: third octaves 100 to 3150, with or without 50 to 80 and 4000 to 5000, each group whole
	// (impact: only 50 to 80); octaves 125 to 2000.
	ValuesDB Curve `json:"values_db"`
}

// RatingResult is a single number with its terms; terms that do not belong to the quantity or the bands are nil.
type RatingResult struct {
	SingleNumberDB int  `json:"single_number_db"`
	CDB            *int `json:"c_db,omitempty"`
	CtrDB          *int `json:"ctr_db,omitempty"`
	CIDB           *int `json:"ci_db,omitempty"`
	// UnfavourableSumDB is the sum of unfavourable deviations at the single number.
	UnfavourableSumDB float64 `json:"unfavourable_sum_db"`
	// OneDecimalDB is the rating with the reference moved in steps of 0.1 dB, for uncertainty.
	OneDecimalDB   float64 `json:"one_decimal_db"`
	C50to3150DB    *int    `json:"c_50_3150_db,omitempty"`
	Ctr50to3150DB  *int    `json:"ctr_50_3150_db,omitempty"`
	C100to5000DB   *int    `json:"c_100_5000_db,omitempty"`
	Ctr100to5000DB *int    `json:"ctr_100_5000_db,omitempty"`
	C50to5000DB    *int    `json:"c_50_5000_db,omitempty"`
	Ctr50to5000DB  *int    `json:"ctr_50_5000_db,omitempty"`
	CI50to2500DB   *int    `json:"ci_50_2500_db,omitempty"`
}

// octaveHz are the octave bands that ISO 717 rates.
var octaveHz = []int{125, 250, 500, 1000, 2000}

// Valid checks the words, the values and that the bands are one of the allowed sets.
func (in RatingInput) Valid() error {
	return errors.Join(
		oneOf("quantity", in.Quantity, "airborne", "impact"),
		oneOf("resolution", in.Resolution, "third-octave", "octave"),
		in.validBands(),
		validLevels("values_db", in.ValuesDB),
	)
}

func (in RatingInput) validBands() error {
	c := in.ValuesDB
	if in.Resolution == "octave" {
		for _, hz := range octaveHz {
			if _, ok := c.At(hz); !ok {
				return &InputError{Field: "values_db", Value: "without " + strconv.Itoa(hz) + " Hz", Range: "the octaves 125, 250, 500, 1000, 2000 Hz"}
			}
		}
		for hz := range c.All() {
			if !slices.Contains(octaveHz, hz) {
				return &InputError{Field: "values_db." + strconv.Itoa(hz), Value: "not a rated octave", Range: "125, 250, 500, 1000, 2000", Unit: "Hz"}
			}
		}
		return nil
	}
	groups := []struct {
		low, high int
		needed    bool
		impact    bool
	}{{100, 3150, true, true}, {50, 80, false, true}, {4000, 5000, false, false}}
	for _, g := range groups {
		given, first := 0, 0
		for hz := range c.All() {
			if hz >= g.low && hz <= g.high {
				given++
				if first == 0 {
					first = hz
				}
			}
		}
		span := strconv.Itoa(g.low) + " to " + strconv.Itoa(g.high) + " Hz"
		switch {
		case given > 0 && in.Quantity == "impact" && !g.impact:
			return &InputError{Field: "values_db." + strconv.Itoa(first), Value: "given", Hint: "impact sound is rated up to 3150 Hz"}
		case (given > 0 || g.needed) && !c.Has(g.low, g.high):
			return &InputError{Field: "values_db", Value: "without some bands", Range: "every third-octave band from " + span}
		}
	}
	return nil
}

// Rate rates the curve.
func (in RatingInput) Rate() (RatingResult, error) {
	if err := in.Valid(); err != nil {
		return RatingResult{}, err
	}
	var r Rating
	var err error
	switch {
	case in.Resolution == "octave":
		var db [5]float64
		for i, hz := range octaveHz {
			db[i], _ = in.ValuesDB.At(hz)
		}
		if in.Quantity == "impact" {
			r = RateImpactOctaves(db)
		} else {
			r = RateAirborneOctaves(db)
		}
	case in.Quantity == "impact":
		r, err = RateImpact(in.ValuesDB)
	default:
		r, err = RateAirborne(in.ValuesDB)
	}
	if err != nil {
		return RatingResult{}, err
	}
	return r.result(in.Quantity), nil
}

func (r Rating) result(quantity string) RatingResult {
	out := RatingResult{SingleNumberDB: r.Value, OneDecimalDB: r.OneDecimal, UnfavourableSumDB: r.UnfavourableSum}
	if quantity == "impact" {
		out.CIDB = &r.CI
	} else {
		out.CDB, out.CtrDB = &r.C, &r.Ctr
	}
	for key, at := range map[string]**int{
		"c_50_3150_db": &out.C50to3150DB, "ctr_50_3150_db": &out.Ctr50to3150DB,
		"c_100_5000_db": &out.C100to5000DB, "ctr_100_5000_db": &out.Ctr100to5000DB,
		"c_50_5000_db": &out.C50to5000DB, "ctr_50_5000_db": &out.Ctr50to5000DB, "ci_50_2500_db": &out.CI50to2500DB,
	} {
		if v, ok := r.Enlarged[key]; ok {
			*at = &v
		}
	}
	return out
}
