package acoustics

import (
	"fmt"
	"io/fs"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Specimen is one measured row beside its prediction.
type Specimen struct {
	ID       string `json:"id"`
	Family   string `json:"family"`
	Quantity string `json:"quantity"` // rw_octave, rw, stc, iic or lnw
	// Measured and Predicted in dB; Error is predicted less measured, for L_n,w the other way round: more than 0 is too good. Impact sound of
	// timber floors stands here before the mean error of its family is taken off.
	Measured  float64 `json:"measured_db"`
	Predicted float64 `json:"predicted_db"`
	Error     float64 `json:"error_db"`
	// UDB is the standard uncertainty that the prediction claims.
	UDB float64 `json:"u_db"`
	// OctaveErrors are predicted less measured in the octaves 125 to 4000 Hz, where the row has them.
	OctaveErrors []float64 `json:"octave_errors_db,omitempty"`
	// RuleDB is R_w by the mass rule 37.5 lg m' - 42 of EN 12354-1:2000, for one heavy leaf of 150 kg/m² or more: old rows that were limited
	// by flanking lie below it.
	RuleDB *float64 `json:"rule_db,omitempty"`
	// HeldOut says why the row is kept apart: no constant was ever chosen on it.
	HeldOut string `json:"held_out,omitempty"`
	// Doubtful says why the row is reported but not counted.
	Doubtful string `json:"doubtful,omitempty"`
	// Assumed says what the source does not print.
	Assumed string `json:"assumed,omitempty"`
	Source  string `json:"source"`

	build   BuildUp
	octaves []float64 // measured
}

// octavesHz are the octaves that rows may have.
var octavesHz = []int{125, 250, 500, 1000, 2000, 4000}

// Accuracy is how far predictions of a family lie from its measured rows, doubtful ones not counted.
type Accuracy struct {
	Family string `json:"family"`
	N      int    `json:"n"`
	// BiasDB is the mean error, RMSDB the root of the mean square error of the single numbers, in dB.
	BiasDB float64 `json:"bias_db"`
	RMSDB  float64 `json:"rms_db"`
	// WorstID is the row with the largest error, WorstDB that error.
	WorstID string  `json:"worst"`
	WorstDB float64 `json:"worst_db"`
	// OctaveRMSDB is over the octaves 250 to 2000 Hz of the OctaveN rows that have them.
	OctaveN     int     `json:"octave_rows"`
	OctaveRMSDB float64 `json:"octave_rms_db"`
	// OctaveRestRMSDB is the same without rows that two or more like rows contradict (see [Contradictions]), OctaveRestN how many are left.
	OctaveRestN     int     `json:"octave_rest_rows"`
	OctaveRestRMSDB float64 `json:"octave_rest_rms_db"`
	Doubtful        int     `json:"doubtful"`
	// SourceOutRMSDB is the r.m.s. error when the shared constants are chosen again, for each row, on the rows of all other sources only.
	SourceOutRMSDB float64 `json:"source_left_out_rms_db"`
	// HeldOutN rows of the family were never used to choose anything; the other two are their mean and r.m.s. error.
	HeldOutN      int     `json:"held_out_rows"`
	HeldOutBiasDB float64 `json:"held_out_bias_db"`
	HeldOutRMSDB  float64 `json:"held_out_rms_db"`
	// HeldOutOctaveRMSDB is over the octaves 250 to 2000 Hz of the HeldOutOctaveN of them that have them.
	HeldOutOctaveN     int     `json:"held_out_octave_rows"`
	HeldOutOctaveRMSDB float64 `json:"held_out_octave_rms_db"`
}

// Validate predicts every row of measured/*.csv and sums up by family, sorted by name.
func Validate(fsys fs.FS) ([]Accuracy, []Specimen, error) {
	files, err := fs.Glob(fsys, "measured/*.csv")
	if err != nil {
		return nil, nil, fmt.Errorf("list measured rows: %w", err)
	}
	var all []Specimen
	for _, name := range files {
		rows, err := readCSV(fsys, name)
		if err != nil {
			return nil, nil, err
		}
		for _, row := range rows {
			s, err := specimen(row)
			if err != nil {
				return nil, nil, fmt.Errorf("%s, row %s: %w", name, row["id"], err)
			}
			all = append(all, s)
		}
	}
	list, err := accuracies(all)
	return list, all, err
}

func specimen(row map[string]string) (Specimen, error) {
	s := Specimen{ID: row["id"], Family: row["family"], Quantity: row["quantity"], Doubtful: row["doubtful"], HeldOut: row["held_out"], Assumed: row["assumed"], Source: row["source"]}
	b := BuildUp{Surface: row["surface"]}
	var err error
	if s.Measured, err = strconv.ParseFloat(row["value_db"], 64); err != nil {
		return s, fmt.Errorf("value: %w", err)
	}
	if b.WidthM, err = strconv.ParseFloat(row["width_m"], 64); err != nil {
		return s, fmt.Errorf("width: %w", err)
	}
	if b.HeightM, err = strconv.ParseFloat(row["height_m"], 64); err != nil {
		return s, fmt.Errorf("height: %w", err)
	}
	if err := Decode([]byte(row["layers"]), &b.Layers); err != nil {
		return s, err
	}
	s.build = b
	uncorrected := chosen
	uncorrected.raw = true
	p, err := b.predict(&uncorrected)
	if err != nil {
		return s, err
	}
	single, ok := p.single(s.Quantity)
	if !ok {
		return s, fmt.Errorf("%q can't be predicted", s.Quantity)
	}
	s.Predicted = float64(single)
	s.Error = s.off(s.Predicted)
	s.UDB = p.UDB
	if p.LnwUDB != nil && (s.Quantity == "iic" || s.Quantity == "lnw") {
		s.UDB = *p.LnwUDB
	}
	if s.Family == familyHeavy && p.MassKgM2 >= 150 {
		s.RuleDB = new(tenth(MassRule(p.MassKgM2)))
	}
	for i, word := range strings.Fields(row["octaves_db"]) {
		v, err := strconv.ParseFloat(word, 64)
		if err != nil {
			return s, fmt.Errorf("octaves: %w", err)
		}
		s.octaves = append(s.octaves, v)
		s.OctaveErrors = append(s.OctaveErrors, tenth(p.R.octave(4+3*i)-v))
	}
	return s, nil
}

// off is how much too good a predicted single number is.
func (s Specimen) off(predicted float64) float64 {
	if s.Quantity == "lnw" {
		return s.Measured - predicted
	}
	return predicted - s.Measured
}

// single is the single number of a prediction in the way a measured row gives it.
func (p Prediction) single(quantity string) (int, bool) {
	switch quantity {
	case "rw_octave":
		var db [5]float64
		for i := range db {
			db[i] = p.R.octave(4 + 3*i)
		}
		return RateAirborneOctaves(db).Value, true
	case "rw":
		return p.RwDB, true
	case "lnw":
		if p.LnwDB == nil {
			return 0, false
		}
		return *p.LnwDB, true
	case "stc":
		return SoundTransmissionClass(p.R)
	case "iic":
		if p.Ln == nil {
			return 0, false
		}
		return ImpactInsulationClass(*p.Ln)
	}
	return 0, false
}

// octave is the reduction over the three third octaves around place i, by energy.
func (c Curve) octave(i int) float64 {
	var tau float64
	for _, v := range c.db[i-1 : i+2] {
		tau += math.Pow(10, -v/10)
	}
	return decibels(tau / 3)
}

// squares sums squares of errors of one family.
type squares struct{ single, leftOut, heldOut, octaves, rest, heldOctaves float64 }

func accuracies(all []Specimen) ([]Accuracy, error) {
	leftOut, err := sourceLeftOut(all)
	if err != nil {
		return nil, err
	}
	odd, err := Contradictions(all)
	if err != nil {
		return nil, err
	}
	byFamily, sums := map[string]*Accuracy{}, map[string]*squares{}
	for i, s := range all {
		a, sum := byFamily[s.Family], sums[s.Family]
		if a == nil {
			a, sum = &Accuracy{Family: s.Family}, &squares{}
			byFamily[s.Family], sums[s.Family] = a, sum
		}
		octaves := s.octaveSquares()
		switch {
		case s.Doubtful != "":
			a.Doubtful++
			continue
		case s.HeldOut != "":
			a.HeldOutN++
			a.HeldOutBiasDB += s.Error
			sum.heldOut += s.Error * s.Error
			if octaves >= 0 {
				a.HeldOutOctaveN++
				sum.heldOctaves += octaves
			}
			continue
		}
		a.N++
		a.BiasDB += s.Error
		sum.single += s.Error * s.Error
		sum.leftOut += leftOut[i] * leftOut[i]
		if math.Abs(s.Error) > math.Abs(a.WorstDB) || a.WorstID == "" {
			a.WorstID, a.WorstDB = s.ID, s.Error
		}
		if octaves >= 0 {
			a.OctaveN++
			sum.octaves += octaves
			if !standsOut(odd, s.ID) {
				a.OctaveRestN++
				sum.rest += octaves
			}
		}
	}
	var out []Accuracy
	for f, a := range byFamily {
		sum := sums[f]
		a.BiasDB, a.HeldOutBiasDB = round2(a.BiasDB/max(1, float64(a.N))), round2(a.HeldOutBiasDB/max(1, float64(a.HeldOutN)))
		a.RMSDB, a.SourceOutRMSDB, a.HeldOutRMSDB = rms(sum.single, a.N), rms(sum.leftOut, a.N), rms(sum.heldOut, a.HeldOutN)
		a.OctaveRMSDB, a.OctaveRestRMSDB = rms(sum.octaves, a.OctaveN*ratedOctaves), rms(sum.rest, a.OctaveRestN*ratedOctaves)
		a.HeldOutOctaveRMSDB = rms(sum.heldOctaves, a.HeldOutOctaveN*ratedOctaves)
		out = append(out, *a)
	}
	slices.SortFunc(out, func(a, b Accuracy) int { return strings.Compare(a.Family, b.Family) })
	return out, nil
}

// ratedOctaves are those from 250 to 2000 Hz.
const ratedOctaves = 4

// octaveSquares sums the squared errors of the octaves 250 to 2000 Hz, -1 where the row has none.
func (s Specimen) octaveSquares() float64 {
	if len(s.OctaveErrors) != len(octavesHz) {
		return -1
	}
	var sum float64
	for _, e := range s.OctaveErrors[1 : 1+ratedOctaves] {
		sum += e * e
	}
	return sum
}

// rms is the root of the mean of n squares, 0 where there are none.
func rms(sum float64, n int) float64 { return round2(math.Sqrt(sum / max(1, float64(n)))) }

func round2(v float64) float64 { return math.Round(v*100) / 100 }

// Coverage counts the rows that are not doubtful, and how many of them lie within u and within 2u of their prediction. By the normal law 68 %
// and 95 % should; more than that says that u is wide, less that it is narrow.
func Coverage(rows []Specimen) (within1, within2, n int) {
	for _, s := range rows {
		if s.Doubtful != "" {
			continue
		}
		n++
		if math.Abs(s.Error) <= s.UDB {
			within1++
		}
		if math.Abs(s.Error) <= 2*s.UDB {
			within2++
		}
	}
	return within1, within2, n
}
