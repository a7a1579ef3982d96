package acoustics

import (
	"math"
	"math/cmplx"
)

// Sandwich is two stiff plates with a viscoelastic layer between them (a constrained layer). SI units: Pa, m, kg/m³.
type Sandwich struct {
	// E1, E3 are the moduli of the plates with their loss: E/(1-ν²) (1 + jη); H1, H3 their thicknesses.
	E1, E3 complex128
	H1, H3 float64
	// G2 is the shear modulus of the layer with its loss, E2 its Young's modulus (0: it carries no bending), H2 its thickness.
	G2, E2 complex128
	H2     float64
	// Mass is the surface mass of all three in kg/m².
	Mass float64
}

// Bending returns the complex bending stiffness of the sandwich at a frequency; η = Im B/Re B.
//
//	g = G2/(E3 h3 h2 p²),  p⁴ = ω² m'/B                 shear parameter, solved by iteration
//	h31 = (h1 + h3)/2 + h2,  h21 = (h1 + h2)/2
//	D = [E2 h2 (h21 - h31/2) + g (E2 h2 h21 + E3 h3 h31)]/[E1 h1 + E2 h2/2 + g (E1 h1 + E2 h2 + E3 h3)]
//	B = E1 h1³/12 + E2 h2³/12 + E3 h3³/12 - (E2 h2²/12)(h31 - D)/(1 + g) + E1 h1 D² + E2 h2 (h21 - D)² + E3 h3 (h31 - D)²
//	    - [(E2 h2/2)(h21 - D) + E3 h3 (h31 - D)] (h31 - D)/(1 + g)                                     N·m
//	frequency  f   Hz   above 0
//
// A soft layer leaves two plates that slide on each other (B1 + B3), a stiff one makes them one thick plate.
// Source: Ross, Kerwin and Ungar, as in Nashif, Jones and Henderson, Vibration Damping, 1985; from memory, its limits and optimum
// recomputed. Checked: testdata/published/sandwich.csv.
func (s Sandwich) Bending(frequency float64) complex128 {
	omega := 2 * math.Pi * frequency
	b := s.uncoupled()
	for range 60 {
		p2 := omega * math.Sqrt(s.Mass/real(b))
		next := s.bendingAt(s.G2 / (s.E3 * complex(s.H3*s.H2*p2, 0)))
		if real(next) <= 0 || cmplx.IsNaN(next) {
			return b
		}
		step := cmplx.Abs(next-b) / cmplx.Abs(b)
		b = next
		if step < 1e-9 {
			break
		}
	}
	return b
}

func (s Sandwich) uncoupled() complex128 {
	return (s.E1*complex(s.H1*s.H1*s.H1, 0) + s.E3*complex(s.H3*s.H3*s.H3, 0)) / 12
}

func (s Sandwich) bendingAt(g complex128) complex128 {
	h1, h2, h3 := complex(s.H1, 0), complex(s.H2, 0), complex(s.H3, 0)
	e1, e2, e3 := s.E1, s.E2, s.E3
	h31, h21 := (h1+h3)/2+h2, (h1+h2)/2
	d := (e2*h2*(h21-h31/2) + g*(e2*h2*h21+e3*h3*h31)) / (e1*h1 + e2*h2/2 + g*(e1*h1+e2*h2+e3*h3))
	return e1*h1*h1*h1/12 + e2*h2*h2*h2/12 + e3*h3*h3*h3/12 -
		e2*h2*h2/12*(h31-d)/(1+g) +
		e1*h1*d*d + e2*h2*(h21-d)*(h21-d) + e3*h3*(h31-d)*(h31-d) -
		(e2*h2/2*(h21-d)+e3*h3*(h31-d))*(h31-d)/(1+g)
}

// OptimumLoss returns the highest loss factor a sandwich can reach with a layer of loss factor eta2 and the geometric parameter y.
//
//	η_max = η2 Y/(2 + Y + 2 √((1 + Y)(1 + η2²)))
//	y   Y = 12 E1h1 E3h3 h31²/((E1h1 + E3h3)(E1h1³ + E3h3³)); equal plates: 3 (1 + h2/h1)²; above 0, no unit
//	eta2    η2, 0 or more, no unit; stiffnesses E h in N/m, thicknesses in m
//
// Source: as [Sandwich.Bending], with E2 = 0. Checked in damping_test.go against the maximum over g.
func OptimumLoss(eta2, y float64) float64 {
	return eta2 * y / (2 + y + 2*math.Sqrt((1+y)*(1+eta2*eta2)))
}
