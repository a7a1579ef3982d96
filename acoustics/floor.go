package acoustics

import "math"

// EquivalentImpactLevel returns L_n,w,eq of a bare heavy slab, in dB.
//
//	L_n,w,eq = 164 - 35 lg m'
//	mass   m'   kg/m²   100 to 600
//
// Source: ISO 12354-2:2017 and EN 12354-2:2000, Annex B; not yet compared with the printed text. Checked: testdata/published/floor.csv.
func EquivalentImpactLevel(mass float64) float64 { return 164 - 35*math.Log10(mass) }

// FloatingResonance returns f0 of a floating floor, in Hz.
//
//	f0 = 160 √(s'/m')
//	stiffness  s'   MN/m³   above 0
//	mass       m'   kg/m²   above 0, of the floating layer
//
// Source: ISO 12354-2:2017, Annex C; not yet compared with the printed text. Checked: testdata/published/floor.csv.
func FloatingResonance(stiffnessMNM3, mass float64) float64 {
	return 160 * math.Sqrt(stiffnessMNM3/mass)
}

// FloatingImprovement returns ΔL of a floating floor at a frequency, in dB, 0 below the resonance.
//
//	ΔL = 30 lg(f/f0)   cement and anhydrite screeds
//	ΔL = 40 lg(f/f0)   asphalt and dry floors
//	frequency  f   Hz   above 0;  f0   Hz   above 0
//
// Source: as [FloatingResonance].
func FloatingImprovement(frequency, f0 float64, dry bool) float64 {
	slope := 30.0
	if dry {
		slope = 40
	}
	return max(0, slope*math.Log10(frequency/f0))
}

// WeightedFloating returns ΔL_w of a floating floor on a heavy slab, in dB.
//
//	screed         ΔL_w = 13 lg m' - 14.2 lg s' + 20.8
//	asphalt, dry   ΔL_w = (-0.21 m' - 5.45) lg s' + 0.46 m' + 23.8
//	mass       m'   kg/m²   60 to 160 for screeds, 10 to 60 for dry floors
//	stiffness  s'   MN/m³   5 to 100
//
// Source: ISO 12354-2:2017 (C.4) and (C.5); not yet compared with the printed text. Checked: testdata/published/floor.csv.
func WeightedFloating(mass, stiffnessMNM3 float64, dry bool) float64 {
	s := math.Log10(stiffnessMNM3)
	if dry {
		return (-0.21*mass-5.45)*s + 0.46*mass + 23.8
	}
	return 13*math.Log10(mass) - 14.2*s + 20.8
}

// SlabImpact returns L_n of a bare heavy slab in a third-octave band, in dB.
//
//	L_n = 155 - 30 lg m' + 10 lg T_s + 10 lg σ + 10 lg(f/1000),  T_s = 2.2/(f η)
//	frequency  f    Hz      above 0
//	mass       m'   kg/m²   above 0
//	sigma      σ            0 to 2
//	eta        η            above 0, total
//
// Source: ISO 12354-2:2017, Annex B (B.2 to B.4); not yet compared with the printed text. Checked: testdata/published/floor.csv.
func SlabImpact(frequency, mass, sigma, eta float64) float64 {
	ts := 2.2 / (frequency * eta)
	return 155 - 30*math.Log10(mass) + 10*math.Log10(ts*sigma*frequency/1000)
}

// flankingK is Table 1 of EN 12354-2:2000: rows by floor mass, columns by mean mass of the flanking elements, one digit of dB each.
var flankingK = []struct {
	floor float64
	k     string
}{
	{100, "100000000"}, {150, "110000000"}, {200, "211000000"}, {250, "211100000"}, {300, "321110000"}, {350, "321111000"},
	{400, "422111100"}, {450, "432211111"}, {500, "432211111"}, {600, "543221111"}, {700, "543322111"}, {800, "644322211"}, {900, "654332222"},
}

// ImpactFlanking returns K, what flanking adds to the impact level of a floor of floor kg/m² on walls of mean kg/m², in dB, from the
// nearest row and column, 100 to 900 and 100 to 500 kg/m²; walls are bare and without lining.
// Source: EN 12354-2:2000, Table 1; not yet compared with the printed text. Checked: testdata/published/floor.csv.
func ImpactFlanking(floor, mean float64) float64 {
	best := flankingK[0]
	for _, row := range flankingK {
		if math.Abs(row.floor-floor) < math.Abs(best.floor-floor) {
			best = row
		}
	}
	column := int(math.Round((mean - 100) / 50))
	return float64(best.k[min(max(column, 0), len(best.k)-1)] - '0')
}

// referenceFloor is L_n,r,0 of the heavy reference floor, 100 to 3150 Hz. Source: ISO 717-2.
var referenceFloor = [16]float64{67, 67.5, 68, 68.5, 69, 69.5, 70, 70.5, 71, 71.5, 72, 72, 72, 72, 72, 72}

// weightedImprovement returns ΔL_w = 78 - L_n,r,w of an improvement given by band. Source: ISO 717-2.
func weightedImprovement(delta func(f float64) float64) float64 {
	var db [16]float64
	for i := range db {
		db[i] = referenceFloor[i] - delta(float64(bandHz[i+at100]))
	}
	return 78 - rate(db[:], impactReference[:], -1, 32).OneDecimal
}

// coveringResonance returns the frequency above which a soft covering isolates the hammer at 12 dB an octave so that it reaches a given
// ΔL_w on the reference floor.
func coveringResonance(deltaLw float64) float64 {
	low, high := 5.0, 20000.0
	for range 60 {
		mid := math.Sqrt(low * high)
		if weightedImprovement(func(f float64) float64 { return FloatingImprovement(f, mid, true) }) > deltaLw {
			low = mid
		} else {
			high = mid
		}
	}
	return math.Sqrt(low * high)
}
