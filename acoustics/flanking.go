package acoustics

import "math"

// Junction is a kind of junction of homogeneous elements. M = lg(m'_perp/m'): the mass of what stands across over that of the path.
type Junction string

// Kinds of junctions of ISO 12354-1 Annex E. Path 13 goes straight on, 12 round the corner.
const (
	RigidCross      Junction = "rigid_cross"
	RigidT          Junction = "rigid_t"
	Corner          Junction = "corner"
	ThicknessChange Junction = "thickness_change"
	LightFacade     Junction = "light_facade"
	LightDouble     Junction = "light_double_leaf" // a light double leaf on a homogeneous element
)

// VibrationReduction returns K_13 and K_12 of a junction in dB; corners and changes of thickness have K_12 only and give it twice.
//
//	cross   K13 = 8.7 + 17.1 M + 5.7 M²          K12 = 8.7 + 5.7 M²
//	T       K13 = 5.7 + 14.1 M + 5.7 M²          K12 = 5.7 + 5.7 M²
//	corner  K12 = max(15|M| - 3, -2)             thickness  K12 = 5 M² - 5
//	facade  K13 = max(5 + 10 M, 5)               K12 = 10 + 10|M|
//	double  K13 = max(10 + 20 M - 3.3 lg(f/500), 10)   K12 = 10 + 10|M| + 3.3 lg(f/500)
//	massRatio  m'_perp/m'   above 0
//	frequency  f            Hz, used by the double leaf only
//
// Source: ISO 12354-1:2017 Annex E; not yet compared with the printed text. Checked: testdata/published/flanking.csv.
func (j Junction) VibrationReduction(massRatio, frequency float64) (k13, k12 float64) {
	m := math.Log10(massRatio)
	shift := 3.3 * math.Log10(frequency/500)
	switch j {
	case RigidCross:
		return 8.7 + 17.1*m + 5.7*m*m, 8.7 + 5.7*m*m
	case RigidT:
		return 5.7 + 14.1*m + 5.7*m*m, 5.7 + 5.7*m*m
	case Corner:
		k := max(15*math.Abs(m)-3, -2)
		return k, k
	case ThicknessChange:
		k := 5*m*m - 5
		return k, k
	case LightFacade:
		return max(5+10*m, 5), 10 + 10*math.Abs(m)
	case LightDouble:
		return max(10+20*m-shift, 10), 10 + 10*math.Abs(m) + shift
	}
	return math.NaN(), math.NaN()
}

// LeastVibrationReduction returns the lowest K_ij a junction of length l in m between areas si and sj in m² can have.
//
//	K_ij >= 10 lg(l l0 (1/S_i + 1/S_j)),  l0 = 1 m;  l, S_i, S_j above 0
//
// Source: ISO 12354-1:2017 Annex E; not yet compared with the printed text.
func LeastVibrationReduction(length, si, sj float64) float64 {
	return 10 * math.Log10(length*(1/si+1/sj))
}

// InterlayerGain returns Δ1, what a flexible interlayer of about 100 MN/m³ adds to K_12 of a T junction (twice to K_13), in dB.
//
//	Δ1 = 10 lg(f/125) above 125 Hz, 0 up to there
//	frequency  f   Hz   above 0
//
// Source: ISO 12354-1:2017 Annex E; not yet compared with the printed text.
func InterlayerGain(frequency float64) float64 { return max(0, 10*math.Log10(frequency/125)) }

// BandPath returns R_ij of a flanking path in one band, in dB.
//
//	R_ij = (R_i + R_j)/2 + ΔR_i + ΔR_j + D_v,ij + 10 lg(S_s/√(S_i S_j))
//	ri, rj    R of the elements, dB; delta  ΔR_i + ΔR_j, dB; dv  D_v,ij, dB, 0 or more
//	ss, si, sj   areas of the separating element and of the two, m², above 0
//
// Source: ISO 12354-1:2017, formulas 10, 11 and 15; not yet compared with the printed text.
func BandPath(ri, rj, delta, dv, ss, si, sj float64) float64 {
	return (ri+rj)/2 + delta + max(0, dv) + 10*math.Log10(ss/math.Sqrt(si*sj))
}

// AbsorptionLength returns a of an element of area s in m² with structural reverberation time ts in s, in m.
//
//	a = 2.2 π² S √(1000/f)/(c0 T_s)
//
//	frequency  f    Hz   above 0
//
// Source: as [BandPath].
func AbsorptionLength(frequency, s, ts float64) float64 {
	return 2.2 * math.Pi * math.Pi * s * math.Sqrt(1000/frequency) / (c0 * ts)
}

// JunctionLevelDifference returns D_v,ij, the level difference of velocity across a junction of length l in m between elements of absorption
// lengths ai and aj in m, averaged over both directions, in dB.
//
//	D_v,ij = K_ij - 10 lg(l_ij/√(a_i a_j)), not below 0
//	kij   K_ij   dB
//
// Source: as [BandPath]. Checked: testdata/published/flanking.csv.
func JunctionLevelDifference(kij, length, ai, aj float64) float64 {
	return max(0, kij-10*math.Log10(length/math.Sqrt(ai*aj)))
}
