package acoustics

import (
	"math"
	"math/cmplx"
)

// slit is a straight-edged gap through one leaf, in m.
type slit struct{ length, width, depth float64 }

// SlitTransmission returns τ of a straight slit through a partition, from the diffuse field of one room into the other.
//
//	K = k0 w, X = d/w, e = (1/π)(ln(8/K) - 0.57722)
//	τ = m K cos²(Ke)/(2n² [sin²(KX + 2Ke)/cos²(Ke) + (K²/(2n²))(1 + cos(KX + 2Ke) cos(KX))])
//	frequency  f   Hz   above 0
//	width      w   m    below 0.3 of the wavelength
//	depth      d   m    above 0
//	edge       the slit lies at an edge or corner (n = ½) instead of in mid-surface (n = 1); m = 8 for a diffuse field
//
// Without viscosity: near the resonances, where d + 2ew is a multiple of half a wavelength, τ exceeds 1; viscosity lowers those peaks in
// narrow slits. Callers average over the band.
// Source: Gomperts and Kihlman 1967, as in Hopkins, Sound Insulation, 2007, eqs 4.99 and 4.100; not yet compared with the printed text.
// Checked: testdata/published/slit.csv.
func SlitTransmission(frequency, width, depth float64, edge bool) float64 {
	n := 1.0
	if edge {
		n = 0.5
	}
	return slitTransmission(frequency, width, depth, 8, n)
}

func slitTransmission(f, w, d, m, n float64) float64 {
	k := 2 * math.Pi * f / c0 * w
	x := d / w
	e := (math.Log(8/k) - 0.57722) / math.Pi
	ce := math.Pow(math.Cos(k*e), 2)
	s := math.Pow(math.Sin(k*x+2*k*e), 2)
	below := 2 * n * n * (s/ce + k*k/(2*n*n)*(1+math.Cos(k*x+2*k*e)*math.Cos(k*x)))
	return m * k * ce / below
}

// impedance is pressure over velocity across the slit: the air in it as a short tube with its end correction, its friction between two
// walls (12 µ d/w², Poiseuille flow) and the radiation resistance of a line, π/2 of K for each face.
func (s slit) impedance(f float64) complex128 {
	const viscosity = 1.84e-5 // Pa·s, air at 20 °C
	k := 2 * math.Pi * f / c0
	kw := k * s.width
	e := (math.Log(8/kw) - 0.57722) / math.Pi
	length := s.depth + 2*e*s.width
	return complex(12*viscosity*s.depth/(s.width*s.width)+z0*kw/2, z0*math.Tan(min(k*length, 1.4)))
}

// parallel puts the slits of a leaf beside its impedance: 1/Z = (1-φ)/Z_leaf + Σ φ/Z_slit, φ the share of the area.
func parallel(z complex128, admittance complex128, open float64) complex128 {
	if open == 0 {
		return z
	}
	return 1 / (complex(1-open, 0)/z + admittance)
}

// admittance sums the slits of a leaf of area s at a frequency, and their share of the area.
func (l *leaf) admittance(f, area float64) (y complex128, open float64) {
	for _, s := range l.slits {
		share := s.length * s.width / area
		open += share
		y += complex(share, 0) / s.impedance(f)
	}
	if cmplx.IsNaN(y) || open > 0.9 {
		return 0, 0
	}
	return y, open
}

// throughSlits is τ of the way right through slits in every leaf, as along an unsealed perimeter, 0 where a leaf has none. The air of each
// cavity is a side branch: what comes out of one slit runs off sideways through the cavity or on through the next slit.
//
//	per metre of slit: series Z_slit/w of each leaf, shunt admittance Σ d_j/Z_c,j of each cavity between
//	τ = 4 L/S · 4 ρ0c0 ρ0ω |q/p|²
//
// The factor 4 is the pressure of a diffuse field in an edge, ρ0ω the radiation resistance of a line in an edge, for that is where most
// gaps are. L is the shortest of the slits. Derived here; compared with [SlitTransmission] in slit_test.go.
func (a *assembly) throughSlits(f float64) float64 {
	length := math.Inf(1)
	for i := range a.leaves {
		if len(a.leaves[i].slits) == 0 {
			return 0
		}
		var sum float64
		for _, s := range a.leaves[i].slits {
			sum += s.length
		}
		length = min(length, sum)
	}
	// From the far side back: unit volume velocity for each metre into no pressure; the slits hold their own radiation.
	p, q := complex(0, 0), complex(1, 0)
	for i := len(a.leaves) - 1; i >= 0; i-- {
		s := a.leaves[i].slits[0]
		p += q * s.impedance(f) / complex(s.width, 0)
		if i > 0 {
			q += p * a.springs[i-1].sideways(f)
		}
	}
	gain := 1 / math.Pow(cmplx.Abs(p), 2)
	return min(1, 4*length/(a.w*a.h)*4*z0*rho0*2*math.Pi*f*gain)
}

// sideways is the admittance for each metre of an edge, into the cavity along its leaves.
func (s *spring) sideways(f float64) complex128 {
	var y complex128
	for _, fl := range s.fluids {
		zc := complex(1, 0)
		if fl.r > 0 {
			zc, _ = Miki(f, fl.r)
		}
		y += complex(fl.depth/z0, 0) / zc
	}
	return y
}
