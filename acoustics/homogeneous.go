package acoustics

import "math"

// Homogeneous is a plate of one material, such as masonry or concrete, for ISO 12354-1 Annex B.
type Homogeneous struct {
	// Mass m' in kg/m², Critical f_c in Hz, WaveSpeed c_L in m/s, Density ρ in kg/m³, all above 0.
	Mass, Critical, WaveSpeed, Density float64
	// L1 and L2 are the sides in m.
	L1, L2 float64
}

// Transmission returns τ of the plate at a frequency with total loss factor eta. fcInBand says that f_c lies in the band.
//
//	A = (2 ρ0 c0/(2π f m'))²
//	f > f_c:              τ = A π f_c σ²/(2 f η)
//	band that holds f_c:  τ = A π σ²/(2 η)
//	f < f_c:              τ = A [2 σ_f/(1 - f²/f_c²)² + π f_c σ²/(2 f η)]
//	thick elements:       τ >= (4 ρ0 c0/(1.1 ρ c_L))² 0.02/η
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
		tau = a * math.Pi * fc * sigma * sigma / (2 * f * eta)
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
