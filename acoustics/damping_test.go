package acoustics

import (
	"math"
	"testing"
)

// sandwichOf makes three unlike layers of a core of shear modulus g with loss eta and no stiffness of its own.
func sandwichOf(g, eta float64) Sandwich {
	return Sandwich{E1: 3e9, E3: 2e9, H1: 0.015, H2: 0.003, H3: 0.0125, G2: complex(g, g*eta), Mass: 30}
}

// A soft layer leaves two plates that slide on each other, a stiff one makes one thick plate about its neutral axis (arithmetic).
func TestSandwichLimits(t *testing.T) {
	soft := sandwichOf(1, 0)
	if got, want := real(soft.Bending(500)), real(soft.uncoupled()); math.Abs(got/want-1) > 1e-4 {
		t.Errorf("soft core: %.1f N·m, uncoupled plates %.1f", got, want)
	}
	stiff := sandwichOf(1e15, 0)
	e1, e3, h1, h2, h3 := 3e9, 2e9, 0.015, 0.003, 0.0125
	z1, z3 := h1/2, h1+h2+h3/2
	axis := (e1*h1*z1 + e3*h3*z3) / (e1*h1 + e3*h3)
	want := e1*(h1*h1*h1/12+h1*(z1-axis)*(z1-axis)) + e3*(h3*h3*h3/12+h3*(z3-axis)*(z3-axis))
	if got := real(stiff.Bending(500)); math.Abs(got/want-1) > 1e-6 {
		t.Errorf("stiff core: %.1f N·m, one thick plate %.1f", got, want)
	}
}

// The highest loss factor over all shear parameters is the published optimum, reached where it should be.
func TestSandwichOptimum(t *testing.T) {
	for _, eta := range []float64{0.1, 0.5, 1} {
		s := sandwichOf(1, eta)
		h31 := (s.H1+s.H3)/2 + s.H2
		a1, a3 := real(s.E1)*s.H1, real(s.E3)*s.H3
		y := 12 * a1 * a3 * h31 * h31 / ((a1 + a3) * (a1*s.H1*s.H1 + a3*s.H3*s.H3))
		best, at := 0.0, 0.0
		for lg := -4.0; lg < 4; lg += 0.001 {
			g := math.Pow(10, lg)
			b := s.bendingAt(complex(g, g*eta))
			if loss := imag(b) / real(b); loss > best {
				best, at = loss, g
			}
		}
		if want := OptimumLoss(eta, y); math.Abs(best/want-1) > 1e-4 {
			t.Errorf("η2 %.1f: highest loss %.4f, formula %.4f", eta, best, want)
		}
		if want := 1 / math.Sqrt((1+y)*(1+eta*eta)) / (1 + a3/a1); math.Abs(at/want-1) > 0.01 {
			t.Errorf("η2 %.1f: reached at g %.4f, formula %.4f", eta, at, want)
		}
	}
}

// Equal plates have Y = 3 (1 + h2/h1)² (arithmetic on its definition), and their highest loss is that of the formula.
func TestSandwichOfEqualPlates(t *testing.T) {
	s := Sandwich{E1: 3e9, E3: 3e9, H1: 0.015, H2: 0.003, H3: 0.015, Mass: 30}
	y, best := 3*math.Pow(1+s.H2/s.H1, 2), 0.0
	for lg := -4.0; lg < 4; lg += 0.001 {
		g := math.Pow(10, lg)
		b := s.bendingAt(complex(g, g*0.5))
		best = max(best, imag(b)/real(b))
	}
	if want := OptimumLoss(0.5, y); math.Abs(best/want-1) > 1e-4 {
		t.Errorf("highest loss %.4f, formula %.4f", best, want)
	}
}

// Turned round, a sandwich is as stiff as before.
func TestSandwichTurned(t *testing.T) {
	s := sandwichOf(5e6, 0.3)
	turned := s
	turned.E1, turned.E3, turned.H1, turned.H3 = s.E3, s.E1, s.H3, s.H1
	for _, f := range []float64{50, 500, 5000} {
		a, b := s.Bending(f), turned.Bending(f)
		if math.Abs(real(a)/real(b)-1) > 1e-6 || math.Abs(imag(a)/imag(b)-1) > 1e-6 {
			t.Errorf("%g Hz: %v and %v", f, a, b)
		}
	}
}
