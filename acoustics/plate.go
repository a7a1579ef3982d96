package acoustics

import "math"

// BendingStiffness returns B', the bending stiffness of a plate for each metre of width.
//
//	B' = E h³/(12 (1 - ν²))                             N·m
//	youngsModulus  E   Pa    above 0
//	thickness      h   m     above 0
//	poisson        ν         0 to 0.49
//
// Source: thin-plate theory; ISO 12354-1:2017 Annex B uses the same. Checked: testdata/published/plate.csv.
func BendingStiffness(youngsModulus, thickness, poisson float64) float64 {
	return youngsModulus * thickness * thickness * thickness / (12 * (1 - poisson*poisson))
}

// CriticalFrequency returns f_c, where bending waves in the plate keep pace with sound in air at grazing incidence.
//
//	f_c = c0²/(2π) √(m'/B')                             Hz
//	mass     m'   surface mass        kg/m²   above 0
//	bending  B'   bending stiffness   N·m     above 0
//
// Thin-plate theory: too low once the plate is thicker than a sixth of the bending wavelength, which a prediction notes.
// Source: ISO 12354-1:2017 Annex B; not yet compared with the printed text. Checked: testdata/published/plate.csv.
func CriticalFrequency(mass, bending float64) float64 {
	return c0 * c0 / (2 * math.Pi) * math.Sqrt(mass/bending)
}

// PlateWaveSpeed returns c_L, the quasi-longitudinal wave speed in a plate.
//
//	c_L = √(E/(ρ (1 - ν²)))                             m/s
//	youngsModulus  E   Pa      above 0
//	density        ρ   kg/m³   above 0
//	poisson        ν           0 to 0.49
//
// Source: Hopkins, Sound Insulation, 2007, Table A2 lists it for building materials. Checked: testdata/published/plate.csv.
func PlateWaveSpeed(youngsModulus, density, poisson float64) float64 {
	return math.Sqrt(youngsModulus / (density * (1 - poisson*poisson)))
}

// MassLaw returns R_0, the reduction of a limp sheet at normal incidence.
//
//	R_0 = 10 lg(1 + (π f m'/(ρ0 c0))²)                  dB
//	frequency  f    Hz      above 0
//	mass       m'   kg/m²   above 0
//
// Field incidence lies about 5.5 dB lower in third octaves, 4 dB in octaves. Source: Bies, Hansen and Howard, Engineering Noise Control,
// 5th ed. 2017, eqs 7.40 and 7.42; not yet compared with the printed text.
func MassLaw(frequency, mass float64) float64 {
	x := math.Pi * frequency * mass / z0
	return 10 * math.Log10(1+x*x)
}

// MassSpringMass returns f0, the resonance of two leaves on the spring between them.
//
//	f0 = 1/(2π) √(s' (1/m1 + 1/m2))                     Hz
//	stiffness  s'       N/m³    above 0: ρ0 c0²/d for an empty cavity of depth d, about 101 kPa/d for one filled with wool
//	m1, m2              kg/m²   above 0
//
// Source: ISO 12354-1:2017, D.1, for a bonded lining. Checked: testdata/published/resonance.csv.
func MassSpringMass(stiffness, m1, m2 float64) float64 {
	return math.Sqrt(stiffness*(1/m1+1/m2)) / (2 * math.Pi)
}
