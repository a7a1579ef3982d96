package acoustics

import (
	"math"
	"math/cmplx"
)

// Miki returns the characteristic impedance Z_c over ρ0 c0 and the wave number k over k0 of fibrous material.
//
//	X = 10³ f/r
//	Z_c/(ρ0 c0) = 1 + 5.50 X^-0.632 - j 8.43 X^-0.632
//	k/k0        = 1 + 7.81 X^-0.618 - j 11.41 X^-0.618
//	frequency        f   Hz         above 0
//	flowResistivity  r   Pa·s/m²    500 to 300 000
//
// Fitted for f/r from 0.01 to 1 m³/kg. Below, from 0.01 down to 0.005, it passes over into the low-frequency limit of a porous medium:
// isothermal air (bulk modulus p0) moved against the flow resistance, effective density 4/3 ρ0 - j r/ω.
// Source: Miki 1990, eqs 30 to 34; not yet compared with the printed text. Checked: testdata/published/porous.csv.
func Miki(frequency, flowResistivity float64) (zc, k complex128) {
	x := frequency / flowResistivity
	if x < 0.01 {
		zLow, kLow := porousLowLimit(frequency, flowResistivity)
		w := min(1, (0.01-x)/0.005)
		zc, k = mikiFit(x)
		return complex(1-w, 0)*zc + complex(w, 0)*zLow, complex(1-w, 0)*k + complex(w, 0)*kLow
	}
	return mikiFit(x)
}

func mikiFit(x float64) (zc, k complex128) {
	a, b := math.Pow(1000*x, -0.632), math.Pow(1000*x, -0.618)
	return complex(1+5.50*a, -8.43*a), complex(1+7.81*b, -11.41*b)
}

func porousLowLimit(f, r float64) (zc, k complex128) {
	density := complex(4.0/3, -r/(2*math.Pi*f*rho0)) // over ρ0
	const bulk = p0 / (rho0 * c0 * c0)               // over ρ0 c0²
	return cmplx.Sqrt(density * bulk), cmplx.Sqrt(density / bulk)
}

// DelanyBazley returns Z_c over ρ0 c0 and k over k0 of fibrous material, X = ρ0 f/r from 0.01 to 1; it is not passive below.
//
//	Z_c/(ρ0 c0) = 1 + 0.0571 X^-0.754 - j 0.087 X^-0.732
//	k/k0        = 1 + 0.0978 X^-0.700 - j 0.189 X^-0.595
//	frequency        f   Hz         above 0
//	flowResistivity  r   Pa·s/m²    500 to 300 000
//
// Source: Delany and Bazley 1970, as in Bies, Hansen and Howard, 2017, Table D.1. The prediction uses [Miki]; this is kept to compare.
// Checked: testdata/published/porous.csv.
func DelanyBazley(frequency, flowResistivity float64) (zc, k complex128) {
	x := rho0 * frequency / flowResistivity
	return complex(1+0.0571*math.Pow(x, -0.754), -0.087*math.Pow(x, -0.732)),
		complex(1+0.0978*math.Pow(x, -0.700), -0.189*math.Pow(x, -0.595))
}

// FlowResistivity estimates r in Pa·s/m² of mineral wool from its density in kg/m³, 4 to 250.
//
//	r = 3.18e-9 ρ^1.53/d²,  d = 6 µm
//
// Source: Bies and Hansen, from memory; 16 kg/m³ gives 6.1 kPa·s/m². Fibre diameters differ, so r may lie a factor of two either way.
func FlowResistivity(density float64) float64 {
	const fibre = 6e-6
	return 3.18e-9 * math.Pow(density, 1.53) / (fibre * fibre)
}
