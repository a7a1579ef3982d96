package acoustics

import (
	"math"
	"math/cmplx"
)

// CelsiusRange is what the temperature of a viscoelastic layer may be.
var CelsiusRange = Range{Min: -40, Max: 80, Unit: "°C"}

// roomCelsius is the temperature of a laboratory and what every prediction takes unless a caller says otherwise.
const roomCelsius = 20

// Polymer is a viscoelastic material between its glassy and its rubbery state.
type Polymer struct {
	// ID names the row of the source, never a product.
	ID string
	// RubberyMPa and GlassyMPa are Young's modulus far below and far above the transition.
	RubberyMPa, GlassyMPa float64
	// MaxLoss is the highest loss factor, 0.1 to 2; PeakCelsius where it lies at 10, 100 and 1000 Hz, in °C, rising.
	MaxLoss     float64
	PeakCelsius [3]float64
}

// Polymers lists viscoelastic materials that damp best near room temperature.
// Source: Vér and Beranek, Noise and Vibration Control Engineering, 2nd ed. 2006, Table 14.1, approximate values; not yet compared with the
// printed text.
func Polymers() []Polymer {
	return []Polymer{
		{"V1", 1.4, 2070, 1.9, [3]float64{-5, 13, 32}},
		{"V2", 4.1, 5520, 1.0, [3]float64{7, 21, 38}},
		{"V3", 1.0, 2070, 1.0, [3]float64{-9, 10, 24}},
		{"V4", 0.5, 2070, 1.5, [3]float64{-9, -1, 21}},
	}
}

// Shear returns the shear modulus G in Pa and the loss factor η at a frequency and a temperature: the fractional Zener model, shifted along
// the frequency axis with temperature.
//
//	E = E_r (1 + c z)/(1 + z),  c = E_g/E_r,  z = (j f/f_p)^α/√c,  G = E/3,  η = Im E/Re E
//	frequency  f   Hz   above 0
//	celsius        °C   -40 to 80
//
// f_p is where η is highest: lg f_p runs straight between the three temperatures of the table and on beyond them. α is such that η reaches
// MaxLoss there, where |E| is √(E_r E_g), as the table has it.
// Source: fractional Zener model, from memory, sure; G = E/3 for rubber. Checked: testdata/published/polymer.csv.
func (p Polymer) Shear(frequency, celsius float64) (g, eta float64) {
	c := p.GlassyMPa / p.RubberyMPa
	alpha := p.power(c)
	lg := math.Log10(frequency) - p.peakLg(celsius)
	z := cmplx.Rect(math.Pow(10, alpha*lg)/math.Sqrt(c), alpha*math.Pi/2)
	e := complex(p.RubberyMPa*1e6, 0) * (1 + complex(c, 0)*z) / (1 + z)
	return real(e) / 3, imag(e) / real(e)
}

// peakLg is lg f_p at a temperature.
func (p Polymer) peakLg(celsius float64) float64 {
	t, from := p.PeakCelsius, 1.0
	if celsius > t[1] {
		return 2 + (celsius-t[1])/(t[2]-t[1])
	}
	return from + (celsius-t[0])/(t[1]-t[0])
}

// power is α: the loss factor at f_p rises with it from 0 up, and is met by halving.
func (p Polymer) power(c float64) float64 {
	low, high := 0.0, 0.999
	for range 50 {
		mid := (low + high) / 2
		z := cmplx.Rect(1/math.Sqrt(c), mid*math.Pi/2)
		e := (1 + complex(c, 0)*z) / (1 + z)
		if imag(e)/real(e) < p.MaxLoss && real(e) > 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}
