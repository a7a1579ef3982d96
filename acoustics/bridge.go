package acoustics

import (
	"math"
	"math/cmplx"
)

// Bridge is a structural connection between two leaves, in SI.
type Bridge struct {
	// Spacing b between line connections, m; or PerM2, the number of point connections for each m².
	Spacing, PerM2 float64
	// Compliance C_M of the connection: m²/N for a line (for each metre run), m/N for a point; 0 is rigid.
	Compliance float64
	// Mass of the connection: kg/m for a line, kg for a point.
	Mass float64
	// softening is the power of [Bridge.softer]; 0: as chosen.
	softening float64
}

// BridgedLeaf is one side of a [Bridge]: surface mass m' in kg/m², critical frequency f_c in Hz, and Resonant, how much its free bending
// waves add to what it radiates near the connection (0: nothing, an infinite or heavily damped leaf).
type BridgedLeaf struct{ Mass, Critical, Resonant float64 }

// Transmission returns τ of the connections between two leaves at a frequency, well above the mass-spring-mass resonance.
//
// A leaf in the sound field p moves with v² = 2p²/(ωm')² when nothing holds it. The connection shares that movement between the impedances
// of the leaves, a line 2(1+j) m' c0 √(f/f_c) for each metre, a point 8 √(B' m'); the second leaf radiates (2/π) λ_c ρ0c0 v² for each
// metre of line, (8/π³) λ_c² ρ0c0 v² for each point:
//
//	line   τ = 16 ρ0² c0³ |H|²/(π f_c2 b ω² m1²)        point  τ = 64 ρ0² c0⁴ n |H|²/(π³ f_c2² ω² m1²)
//	H = v2/v1, with the compliance in the middle and half the mass of the connection on each side of it
//	frequency  f   Hz   above 0; masses kg/m², f_c Hz and spacing m above 0, compliance and mass of the connection 0 or more
//
// Both are multiplied by (1 + r1)(1 + r2) for the free waves (see resonantLine). Rigid and massless, with r = 0, they are Davy's formula
// of 1991 with D = 1 and Sharp's of 1978 within 2 dB.
// Source: Davy 1991 as in Vigran, Building Acoustics, 2008, eq. 8.27, and derived again from first principles.
// Checked: testdata/published/bridge.csv.
func (b Bridge) Transmission(frequency float64, first, second BridgedLeaf) float64 {
	if first.Critical <= 0 || second.Critical <= 0 || first.Mass <= 0 || second.Mass <= 0 {
		return 0
	}
	omega := 2 * math.Pi * frequency
	z1, z2 := first.impedance(frequency, b.PerM2 > 0), second.impedance(frequency, b.PerM2 > 0)
	half := complex(0, omega*b.Mass/2)
	// From the second leaf back to the first, with v2 = 1.
	force := half + z2
	velocity := 1 + complex(0, omega*b.Compliance*b.softer(frequency))*force
	onFirst := force + half*velocity
	free := velocity + onFirst/z1
	h2 := 1 / math.Pow(cmplx.Abs(free), 2)
	tau := 0.0
	if b.PerM2 > 0 {
		tau = 64 * rho0 * rho0 * math.Pow(c0, 4) * b.PerM2 * h2 / (math.Pow(math.Pi, 3) * math.Pow(second.Critical*omega*first.Mass, 2))
	} else if b.Spacing > 0 {
		tau = 16 * rho0 * rho0 * c0 * c0 * c0 * h2 / (math.Pi * second.Critical * b.Spacing * math.Pow(omega*first.Mass, 2))
	}
	return tau * (1 + first.Resonant) * (1 + second.Resonant)
}

func (l BridgedLeaf) impedance(f float64, point bool) complex128 {
	if point {
		return complex(8*l.Mass*c0*c0/(2*math.Pi*l.Critical), 0)
	}
	z := 2 * l.Mass * c0 * math.Sqrt(f/l.Critical)
	return complex(z, z)
}

// resonantLine is the power that free bending waves launched from a line radiate, over the power radiated at the line itself: injected
// power 2 m' c_B v², of which ρ0c0σ/(ω m' η) is radiated, against (2/π) λ_c ρ0c0 v².
//
//	r = σ √(f_c/f)/(2 η)
//
// By reciprocity it also multiplies what the sound field gives to the connection. Far above f_c, where the movement of the leaf is all
// free waves, a line can't move more than they do, which is the value of a point. Derived here from statistical energy analysis.
func resonantLine(f, fc, sigma, eta float64) float64 {
	return min(sigma*math.Sqrt(fc/f)/(2*eta), resonantPoint(f, fc, sigma, eta))
}

// resonantPoint is the same for a point: injected 8 √(B' m') v² against (8/π³) λ_c² ρ0c0 v².
//
//	r = π f_c σ/(4 f η)
func resonantPoint(f, fc, sigma, eta float64) float64 { return math.Pi * fc * sigma / (4 * f * eta) }

// softer is how the compliance of light steel goes with frequency: constant to 400 Hz, falling with a power of it above. The shape is that
// of Davy, Guigou-Carter and Villot 2012 (abstract, from memory); the power is chosen on all measured rows of steel studs and bars together.
func (b Bridge) softer(f float64) float64 {
	if f <= 400 {
		return 1
	}
	if b.softening == 0 {
		return math.Pow(400/f, chosen.softening)
	}
	return math.Pow(400/f, b.softening)
}
