package acoustics

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
)

// FieldTest is a measurement on site to ISO 16283-1 (airborne) or -2 (impact). Levels are lists by band in the order of BandsHz.
type FieldTest struct {
	// Kind is airborne or impact.
	Kind string `json:"kind"`
	// L1DB and L2DB are levels in the source and receiving room, in dB, a list for each position.
	L1DB [][]float64 `json:"l1_db,omitempty"`
	L2DB [][]float64 `json:"l2_db,omitempty"`
	// LiDB are impact levels, a list for each position.
	LiDB [][]float64 `json:"li_db,omitempty"`
	// BackgroundDB is the background in the receiving room.
	BackgroundDB []float64 `json:"background_db,omitempty"`
	// TS is the reverberation time in s.
	TS []float64 `json:"t_s"`
	// VolumeM3 is the volume of the receiving room in m³, AreaM2 the common area in m².
	VolumeM3 *float64 `json:"volume_m3,omitempty"`
	AreaM2   *float64 `json:"area_m2,omitempty"`
	// BandsHz are the nominal third-octave bands.
	BandsHz []int `json:"bands_hz"`
	// CornerDB are the highest corner levels in the receiving room, for 50 to 80 Hz in rooms below 25 m³.
	CornerDB []float64 `json:"corner_db,omitempty"`
}

// FieldResult is what a field test gives; what does not belong to its kind is nil.
type FieldResult struct {
	DnT    *Curve `json:"dnt_db,omitempty"`
	DnTwDB *int   `json:"dntw_db,omitempty"`
	CDB    *int   `json:"c_db,omitempty"`
	CtrDB  *int   `json:"ctr_db,omitempty"`
	RPrime *Curve `json:"r_prime_db,omitempty"`
	LnT    *Curve `json:"lnt_db,omitempty"`
	LnTwDB *int   `json:"lntw_db,omitempty"`
	CIDB   *int   `json:"ci_db,omitempty"`
	// UDB is the standard uncertainty (k = 1) of the single number: the same building, another team (ISO 12999-1, situation B).
	UDB float64 `json:"u_db"`
	// BackgroundLimitedHz are the bands where signal and background differ by 6 dB or less: their values are bounds.
	BackgroundLimitedHz []int    `json:"background_limited_hz"`
	Notes               []string `json:"notes"`
}

// ReverberationRange is what a reverberation time may be.
var ReverberationRange = Range{Min: 0.05, Max: 30, Unit: "s"}

// maxPositions is more than any measurement has.
const maxPositions = 200

// Valid checks that every list has a value for each band and every value a sensible size.
func (t FieldTest) Valid() error {
	errs := []error{oneOf("kind", t.Kind, "airborne", "impact"), t.validBands()}
	n := len(t.BandsHz)
	positions := func(field string, lists [][]float64) {
		if len(lists) == 0 || len(lists) > maxPositions {
			errs = append(errs, &InputError{Field: field, Value: "a list of " + strconv.Itoa(len(lists)), Range: "1 to 200", Unit: "positions"})
		}
		for i, list := range lists {
			errs = append(errs, validList(indexed(field, i), list, n, LevelRange))
		}
	}
	if t.Kind == "impact" {
		positions("li_db", t.LiDB)
		errs = append(errs, absent("l1_db", len(t.L1DB)), absent("l2_db", len(t.L2DB)))
	} else {
		positions("l1_db", t.L1DB)
		positions("l2_db", t.L2DB)
		errs = append(errs, absent("li_db", len(t.LiDB)))
	}
	errs = append(errs, validList("t_s", t.TS, n, ReverberationRange))
	if t.BackgroundDB != nil {
		errs = append(errs, validList("background_db", t.BackgroundDB, n, LevelRange))
	}
	if t.CornerDB != nil {
		errs = append(errs, validList("corner_db", t.CornerDB, n, LevelRange))
		errs = append(errs, VolumeRange.needed("volume_m3", t.VolumeM3))
	}
	errs = append(errs, VolumeRange.checkOptional("volume_m3", t.VolumeM3), AreaRange.checkOptional("area_m2", t.AreaM2))
	return errors.Join(errs...)
}

func absent(field string, n int) error {
	if n == 0 {
		return nil
	}
	return &InputError{Field: field, Value: "given", Hint: "it does not belong to this kind of test"}
}

func (t FieldTest) validBands() error {
	var c Curve
	for i, hz := range t.BandsHz {
		if _, twice := c.At(hz); twice || !c.Set(hz, 0) {
			return &InputError{Field: indexed("bands_hz", i), Value: strconv.Itoa(hz), Range: "third-octave bands from 50 to 5000 Hz, each once"}
		}
	}
	if !c.Has(100, 3150) {
		return &InputError{Field: "bands_hz", Value: "without some bands", Range: "every third-octave band from 100 to 3150 Hz"}
	}
	return nil
}

func validList(field string, list []float64, n int, r Range) error {
	if len(list) != n {
		return &InputError{Field: field, Value: "a list of " + strconv.Itoa(len(list)), Range: strconv.Itoa(n), Unit: "values, one for each band"}
	}
	var errs []error
	for i, v := range list {
		errs = append(errs, r.Check(indexed(field, i), v))
	}
	return errors.Join(errs...)
}

// MeanLevel returns the energy mean of one or more levels in dB, each from -20 to 150. Source: ISO 16283-1:2014; not yet compared with the printed text.
func MeanLevel(levels ...float64) float64 {
	return energySum(levels) - 10*math.Log10(float64(len(levels)))
}

// CorrectBackground takes the background out of a band level measured on top of it, both in dB, -20 to 150.
// From 10 dB of difference nothing changes; above 6 and below 10 dB energies are subtracted; at 6 or less 1.3 dB comes off and
// limited is true: the result is then a bound, not a value.
// Source: ISO 16283-1:2014, from memory, sure; not yet compared with the printed text.
func CorrectBackground(level, background float64) (corrected float64, limited bool) {
	switch difference := level - background; {
	case difference >= 10:
		return level, false
	case difference > 6:
		return 10 * math.Log10(math.Pow(10, level/10)-math.Pow(10, background/10)), false
	default:
		return level - 1.3, true
	}
}

// LowFrequencyLevel returns L_LF of a room below 25 m³ at 50, 63 and 80 Hz from the level in the room and the highest corner level, in dB.
//
//	L_LF = 10 lg((10^(0.1 L_corner) + 2·10^(0.1 L))/3)
//
// Source: ISO 16283-1:2014, clause 8.1 and formula 13; not yet compared with the printed text.
func LowFrequencyLevel(level, corner float64) float64 {
	return 10 * math.Log10((math.Pow(10, corner/10)+2*math.Pow(10, level/10))/3)
}

// Evaluate calculates the test.
//
//	D_nT = L1 - L2 + 10 lg(T/0.5),  R' = L1 - L2 + 10 lg(S T/(0.16 V)),  L'_nT = Li - 10 lg(T/0.5)
//
// Source: ISO 16283-1:2014 and ISO 16283-2:2015; not yet compared with the printed text.
func (t FieldTest) Evaluate() (FieldResult, error) {
	if err := t.Valid(); err != nil {
		return FieldResult{}, err
	}
	out := FieldResult{BackgroundLimitedHz: []int{}, Notes: []string{}}
	var level, rPrime Curve
	smallRoom := t.CornerDB != nil && math.Round(*t.VolumeM3) < 25
	for i, hz := range t.BandsHz {
		received := t.received(i, hz, smallRoom)
		if t.BackgroundDB != nil {
			var limited bool
			received, limited = CorrectBackground(received, t.BackgroundDB[i])
			if limited {
				out.BackgroundLimitedHz = append(out.BackgroundLimitedHz, hz)
			}
		}
		ts := t.reverberation(i, smallRoom)
		reverberant := 10 * math.Log10(ts/0.5)
		if t.Kind == "impact" {
			level.Set(hz, received-reverberant)
			continue
		}
		difference := meanOver(t.L1DB, i) - received
		level.Set(hz, difference+reverberant)
		if t.AreaM2 != nil && t.VolumeM3 != nil {
			rPrime.Set(hz, difference+10*math.Log10(*t.AreaM2*ts/(0.16**t.VolumeM3)))
		}
	}
	out.notes(t, smallRoom)
	level = level.Rounded()
	if t.Kind == "impact" {
		r, err := RateImpact(level)
		if err != nil {
			return FieldResult{}, err
		}
		out.LnT, out.LnTwDB, out.CIDB = &level, &r.Value, &r.CI
		out.UDB, _ = MeasuredUncertainty("lnw", SamePlace)
		return out, nil
	}
	r, err := RateAirborne(level)
	if err != nil {
		return FieldResult{}, err
	}
	out.DnT, out.DnTwDB, out.CDB, out.CtrDB = &level, &r.Value, &r.C, &r.Ctr
	out.UDB, _ = MeasuredUncertainty("rw", SamePlace)
	if rPrime.Len() > 0 {
		rPrime = rPrime.Rounded()
		out.RPrime = &rPrime
	}
	return out, nil
}

// received is the mean level in the receiving room in band i, with its corners where the low-frequency procedure applies.
func (t FieldTest) received(i, hz int, smallRoom bool) float64 {
	lists := t.L2DB
	if t.Kind == "impact" {
		lists = t.LiDB
	}
	level := meanOver(lists, i)
	if smallRoom && hz <= 80 {
		return LowFrequencyLevel(level, t.CornerDB[i])
	}
	return level
}

// reverberation is T in band i; the low-frequency procedure takes that of the 63 Hz octave for all three bands.
func (t FieldTest) reverberation(i int, smallRoom bool) float64 {
	if at63 := slices.Index(t.BandsHz, 63); smallRoom && t.BandsHz[i] <= 80 && at63 >= 0 {
		return t.TS[at63]
	}
	return t.TS[i]
}

func meanOver(lists [][]float64, band int) float64 {
	levels := make([]float64, len(lists))
	for i, list := range lists {
		levels[i] = list[band]
	}
	return MeanLevel(levels...)
}

func (out *FieldResult) notes(t FieldTest, smallRoom bool) {
	if n := len(out.BackgroundLimitedHz); n > 0 {
		bands := "bands"
		if n == 1 {
			bands = "band"
		}
		out.Notes = append(out.Notes, fmt.Sprintf("in %d %s the background is 6 dB or less below: 1.3 dB were taken off and the values are bounds", n, bands))
	}
	if t.BackgroundDB == nil {
		out.Notes = append(out.Notes, "no background given: none was taken off")
	}
	if t.CornerDB != nil && !smallRoom {
		out.Notes = append(out.Notes, "corner levels are not used: the room is not below 25 m³")
	}
	if smallRoom && slices.Min(t.BandsHz) > 80 {
		out.Notes = append(out.Notes, "corner levels are not used: they count at 50 to 80 Hz, which are not among the bands")
	} else if smallRoom {
		out.Notes = append(out.Notes, "50 to 80 Hz by the low-frequency procedure; the reverberation time given at 63 Hz is taken as that of the 63 Hz octave, for all three")
	}
	if t.Kind == "airborne" && (t.AreaM2 == nil || t.VolumeM3 == nil) {
		out.Notes = append(out.Notes, "R' needs area_m2 and volume_m3")
	}
}
