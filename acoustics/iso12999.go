package acoustics

import "slices"

// Situation says between whom a measurement is compared: ISO 12999-1 gives a standard uncertainty for each.
type Situation int

// Situations of ISO 12999-1.
const (
	BetweenLaboratories Situation = iota // A: another laboratory, another specimen of the same kind
	SamePlace                            // B: the same building, another team
	Repeated                             // C: the same team again
)

// measuredUncertainty are standard uncertainties in dB for situations A, B, C; 0 where the standard gives none.
var measuredUncertainty = map[string][3]float64{
	"rw": {1.2, 0.9, 0.4}, "rw_c": {1.3, 0.9, 0.5}, "rw_ctr": {1.5, 1.1, 0.7},
	"rw_c_50_5000": {1.3, 1.1, 0.7}, "rw_ctr_50_5000": {1.5, 1.0, 1.0},
	"lnw": {1.5, 1.0, 0.5}, "lnw_ci": {1.5, 1.0, 0.6}, "delta_lw": {1.1, 0, 0},
}

// MeasuredUncertainty returns the standard uncertainty u (k = 1) in dB of a measured single number: rw (also R'_w, D_nT,w), rw_c, rw_ctr,
// rw_c_50_5000, rw_ctr_50_5000, lnw (also L'_n,w, L'_nT,w), lnw_ci, delta_lw. ok is false where the standard gives none.
// Source: ISO 12999-1:2020, Tables 2 to 5 and 7; not yet compared with the printed text. Checked:
// testdata/published/uncertainty.csv.
func MeasuredUncertainty(quantity string, s Situation) (u float64, ok bool) {
	if s < BetweenLaboratories || s > Repeated {
		return 0, false
	}
	u = measuredUncertainty[quantity][s]
	return u, u > 0
}

// bandUncertainty are standard uncertainties of airborne sound in dB, 50 to 5000 Hz, for situations A, B, C.
var bandUncertainty = [3][Bands]float64{
	{6.8, 4.6, 3.8, 3.0, 2.7, 2.4, 2.1, 1.8, 1.8, 1.8, 1.8, 1.8, 1.8, 1.8, 1.8, 1.8, 1.8, 1.9, 2.0, 2.4, 2.8},
	{4.0, 3.6, 3.2, 2.8, 2.4, 2.0, 1.8, 1.6, 1.4, 1.2, 1.1, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.3, 1.6, 1.9, 2.2},
	{2.0, 1.8, 1.6, 1.4, 1.2, 1.0, 0.9, 0.8, 0.7, 0.6, 0.6, 0.6, 0.6, 0.6, 0.6, 0.6, 0.6, 0.6, 0.6, 0.6, 0.6},
}

// MeasuredBandUncertainty returns the standard uncertainty u (k = 1) in dB of airborne sound measured in the third-octave band with nominal
// centre hz, 50 to 5000 Hz; ok is false for anything else.
// Source: ISO 12999-1:2020, Table 2; not yet compared with the printed text. Checked: testdata/published/uncertainty.csv.
func MeasuredBandUncertainty(hz int, s Situation) (u float64, ok bool) {
	i := slices.Index(bandHz[:], hz)
	if i < 0 || s < BetweenLaboratories || s > Repeated {
		return 0, false
	}
	return bandUncertainty[s][i], true
}
