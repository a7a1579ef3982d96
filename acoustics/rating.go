package acoustics

import "math"

// Rating is a single-number value with its spectrum adaptation terms, all in whole dB but the two marked otherwise.
type Rating struct {
	// Value is R_w, D_nT,w, L_n,w ... in whole dB.
	Value int
	// OneDecimal is the same with the reference moved in steps of 0.1 dB, used for uncertainty.
	OneDecimal float64
	// UnfavourableSum is the sum of unfavourable deviations in dB at Value.
	UnfavourableSum float64
	// C and Ctr are the terms of ISO 717-1 over 100 to 3150 Hz (octaves 125 to 2000); 0 for impact.
	C, Ctr int
	// CI is the term of ISO 717-2 over 100 to 2500 Hz (octaves 125 to 2000); 0 for airborne sound.
	CI int
	// Enlarged holds the terms over enlarged ranges by their JSON key, such as c_50_3150_db, where the bands were given.
	Enlarged map[string]int
}

var (
	airborneReference = [16]float64{33, 36, 39, 42, 45, 48, 51, 52, 53, 54, 55, 56, 56, 56, 56, 56}
	airborneOctaves   = [5]float64{36, 45, 52, 55, 56}
	impactReference   = [16]float64{62, 62, 62, 62, 62, 62, 61, 60, 59, 58, 57, 54, 51, 48, 45, 42}
	impactOctaves     = [5]float64{67, 67, 65, 62, 49}

	spectrumC       = []float64{-29, -26, -23, -21, -19, -17, -15, -13, -12, -11, -10, -9, -9, -9, -9, -9}
	spectrumCtr     = []float64{-20, -20, -18, -16, -15, -14, -13, -12, -11, -9, -8, -9, -10, -11, -13, -15}
	octaveC         = []float64{-21, -14, -8, -5, -4}
	octaveCtr       = []float64{-14, -10, -7, -4, -6}
	spectrumC50     = []float64{-40, -36, -33, -29, -26, -23, -21, -19, -17, -15, -13, -12, -11, -10, -9, -9, -9, -9, -9}
	spectrumC5000   = []float64{-41, -37, -34, -30, -27, -24, -22, -20, -18, -16, -14, -13, -12, -11, -10, -10, -10, -10, -10, -10, -10}
	spectrumCtrWide = []float64{-25, -23, -21, -20, -20, -18, -16, -15, -14, -13, -12, -11, -9, -8, -9, -10, -11, -13, -15, -16, -18}
)

// The place of 100, 2500, 3150 and 5000 Hz among the 21 bands.
const (
	at100  = 3
	at2500 = 17
	at3150 = 18
	at5000 = 20
)

// RateAirborne rates a curve of R, R', D_nT ... by ISO 717-1 from its bands 100 to 3150 Hz, which must be there; values are first rounded
// to 0.1 dB. Terms over enlarged ranges come with 50 to 80 Hz and with 4000 to 5000 Hz, each group whole.
// Source: ISO 717-1:2013 and 2020, Tables 3, 4 and B.1; not yet compared with the printed text. Checked: testdata/published/rating.csv.
func RateAirborne(c Curve) (Rating, error) {
	if err := needBands(c); err != nil {
		return Rating{}, err
	}
	c = c.Rounded()
	all := c.db[:]
	r := rate(all[at100:at3150+1], airborneReference[:], 1, 32)
	r.C = adaptation(all[at100:], spectrumC) - r.Value
	r.Ctr = adaptation(all[at100:], spectrumCtr) - r.Value
	low, high := c.Has(50, 80), c.Has(4000, 5000)
	r.Enlarged = map[string]int{}
	if low {
		r.Enlarged["c_50_3150_db"] = adaptation(all, spectrumC50) - r.Value
		r.Enlarged["ctr_50_3150_db"] = adaptation(all, spectrumCtrWide[:at3150+1]) - r.Value
	}
	if high {
		r.Enlarged["c_100_5000_db"] = adaptation(all[at100:], spectrumC5000[at100:]) - r.Value
		r.Enlarged["ctr_100_5000_db"] = adaptation(all[at100:], spectrumCtrWide[at100:]) - r.Value
	}
	if low && high {
		r.Enlarged["c_50_5000_db"] = adaptation(all, spectrumC5000) - r.Value
		r.Enlarged["ctr_50_5000_db"] = adaptation(all, spectrumCtrWide) - r.Value
	}
	return r, nil
}

// RateImpact rates a curve of L_n, L'_nT ... by ISO 717-2 from its bands 100 to 3150 Hz, which must be there; values are first rounded to
// 0.1 dB. C_I,50-2500 comes with 50 to 80 Hz.
// Source: ISO 717-2:2013 and 2020, Tables 3 and 4; not yet compared with the printed text. Checked: testdata/published/rating.csv.
func RateImpact(c Curve) (Rating, error) {
	if err := needBands(c); err != nil {
		return Rating{}, err
	}
	c = c.Rounded()
	all := c.db[:]
	r := rate(all[at100:at3150+1], impactReference[:], -1, 32)
	r.CI = whole(energySum(all[at100:at2500+1])) - 15 - r.Value
	r.Enlarged = map[string]int{}
	if c.Has(50, 80) {
		r.Enlarged["ci_50_2500_db"] = whole(energySum(all[:at2500+1])) - 15 - r.Value
	}
	return r, nil
}

// RateAirborneOctaves rates R, R', D_nT in the five octaves 125 to 2000 Hz by ISO 717-1. Source as [RateAirborne].
func RateAirborneOctaves(db [5]float64) Rating {
	for i := range db {
		db[i] = tenth(db[i])
	}
	r := rate(db[:], airborneOctaves[:], 1, 10)
	r.C = adaptation(db[:], octaveC) - r.Value
	r.Ctr = adaptation(db[:], octaveCtr) - r.Value
	return r
}

// RateImpactOctaves rates L_n, L'_nT in the five octaves 125 to 2000 Hz by ISO 717-2; the value is the reference at 500 Hz less 5 dB.
// Source as [RateImpact].
func RateImpactOctaves(db [5]float64) Rating {
	for i := range db {
		db[i] = tenth(db[i])
	}
	r := rate(db[:], impactOctaves[:], -1, 10)
	r.Value -= 5
	r.OneDecimal -= 5
	r.CI = whole(energySum(db[:])) - 15 - r.Value
	return r
}

func needBands(c Curve) error {
	if c.Has(100, 3150) {
		return nil
	}
	return &InputError{Field: "values_db", Value: "without some bands", Range: "every third-octave band from 100 to 3150 Hz"}
}

// rate shifts the reference as far as the sum of unfavourable deviations allows. sign is +1 where more is better (airborne) and -1 where
// less is better (impact); the deviations are then taken the other way round.
func rate(db, reference []float64, sign, limit float64) Rating {
	at := 7 // 500 Hz of the third octaves
	if len(reference) == 5 {
		at = 2
	}
	var r Rating
	shift := highestShift(db, reference, sign, limit, 1)
	r.Value = int(math.Round(reference[at] + sign*shift))
	r.UnfavourableSum = tenth(unfavourable(db, reference, sign, shift))
	r.OneDecimal = tenth(reference[at] + sign*highestShift(db, reference, sign, limit, 0.1))
	return r
}

// highestShift moves the reference in steps towards the better side while the sum stays within the limit.
func highestShift(db, reference []float64, sign, limit, step float64) float64 {
	// With the reference so far on the worse side that no band is unfavourable, stepping can start.
	worst := math.Inf(1)
	for i, v := range db {
		worst = min(worst, sign*(v-reference[i]))
	}
	n := math.Floor(worst / step)
	for unfavourable(db, reference, sign, (n+1)*step) <= limit+1e-6 {
		n++
	}
	return n * step
}

func unfavourable(db, reference []float64, sign, shift float64) float64 {
	var sum float64
	for i, v := range db {
		sum += max(0, sign*(reference[i]-v)+shift)
	}
	return sum
}

// adaptation returns X_A, -10 lg of the summed A-weighted energy that passes, in whole dB.
func adaptation(db, spectrum []float64) int {
	var sum float64
	for i, l := range spectrum {
		sum += math.Pow(10, (l-db[i])/10)
	}
	return whole(-10 * math.Log10(sum))
}

// energySum adds levels in dB as energies.
func energySum(db []float64) float64 {
	var sum float64
	for _, v := range db {
		sum += math.Pow(10, v/10)
	}
	return 10 * math.Log10(sum)
}
