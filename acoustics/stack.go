package acoustics

import (
	"math"
	"math/cmplx"
)

// Resolution of the diffuse field: frequencies in a third-octave band, angles of incidence at each.
const (
	perBand = 4
	angles  = 32
)

// gaussNodes and gaussWeights are the Gauss-Legendre rule on 0 to 1, found by Newton's method once at start.
var gaussNodes, gaussWeights = gaussLegendre(angles)

func gaussLegendre(n int) (x, w []float64) {
	x, w = make([]float64, n), make([]float64, n)
	for i := range n {
		z := math.Cos(math.Pi * (float64(i) + 0.75) / (float64(n) + 0.5))
		var slope float64
		for range 100 {
			p, q := 1.0, 0.0
			for j := range n {
				p, q = ((2*float64(j)+1)*z*p-float64(j)*q)/float64(j+1), p
			}
			slope = float64(n) * (z*p - q) / (z*z - 1)
			step := p / slope
			z -= step
			if math.Abs(step) < 1e-15 {
				break
			}
		}
		x[i], w[i] = (1-z)/2, 1/((1-z*z)*slope*slope)
	}
	return x, w
}

// step is one part of a stack at one frequency, ready for the loop over angles.
type step struct {
	kind stepKind
	// leaf: jω m', the bending term B' ω³/c0⁴ that goes with sin⁴θ, and the slits beside it
	inertia, bend, slits complex128
	open                 float64
	// fluid: k d, (k/k0)², Z_c/k·k0... as used in cross; spring: jω/s'
	k2, zk complex128
	kd     float64
	bx, by float64 // k0 b/√2 of the bay
	spring complex128
}

type stepKind uint8

const (
	leafStep stepKind = iota
	fluidStep
	springStep
)

// diffuse returns τ of leaves from to to (inclusive) and what lies between them, averaged over a band, in a diffuse field on a panel of
// the size of the assembly.
//
// Each leaf is a thin plate, each space a fluid or a spring, multiplied as transfer matrices for a plane wave at angle θ:
//
//	plate   Z = jω m' - j B' ω³ sin⁴θ/c0⁴                        [[1, Z], [0, 1]]
//	fluid   k_z = √(k² - k0² sin²θ), Z_z = Z_c k/k_z            [[cos k_z d, j Z_z sin k_z d], [j sin k_z d/Z_z, cos k_z d]]
//	spring                                                       [[1, 0], [jω/s', 1]]
//	τ(θ) = |2/(T11 + T12/Z0 + T21 Z0 + T22)|²,  Z0 = ρ0 c0/cos θ
//
// The finite panel radiates with σ(θ) = 1/√(cos²θ + ε²) instead of 1/cos θ, once (Vigran 2009); ε is such that the mean over a diffuse
// field is σ_f of ISO 12354-1 Annex B, so that a limp panel gives exactly τ = (2ρ0c0/(ω m'))² 2 σ_f. With cos θ = ε sinh t, t from 0 to
// σ_f, that weight becomes constant: the sum over angles is fine where grazing waves need it.
//
// Source: plate with one f_c: Vigran, Building Acoustics, 2008, eq. 6.108; fluid: Cox and D'Antonio, eqs 2.29 to 2.32; not yet compared
// with the printed text.
func (a *assembly) diffuse(band, from, to int) float64 {
	var steps [64]step
	var sum float64
	for n := range perBand {
		f := float64(bandHz[band]) * math.Pow(2, ((float64(n)+0.5)/perBand-0.5)/3)
		sum += overAngles(a.steps(steps[:0], band, f, from, to), f, a.w, a.h)
	}
	return sum / perBand
}

// steps prepares the parts at one frequency, from the receiving side back to the source side.
func (a *assembly) steps(out []step, band int, f float64, from, to int) []step {
	omega := 2 * math.Pi * f
	for i := to; i >= from; i-- {
		l := &a.leaves[i]
		s := step{kind: leafStep, inertia: complex(0, omega*l.mass)}
		if l.heavy {
			s.inertia = complex(0, omega*a.effectiveMass(band, l))
		} else {
			s.bend = l.bend[band] * complex(omega*omega*omega/(c0*c0*c0*c0), 0)
		}
		if len(a.leaves) > 1 { // in a single leaf a slit is a way right through
			s.slits, s.open = l.admittance(f, a.w*a.h)
		}
		out = append(out, s)
		if i == from {
			break
		}
		sp := &a.springs[i-1]
		if sp.mat > 0 {
			out = append(out, step{kind: springStep, spring: complex(0, omega) / complex(sp.mat, sp.mat*sp.loss)})
			continue
		}
		for j := len(sp.fluids) - 1; j >= 0; j-- {
			st := sp.fluids[j].step(f, a.lateralLoss(sp, f))
			k := omega / c0
			st.bx, st.by = k*sp.bay(a.w), k*a.h
			out = append(out, st)
		}
	}
	return out
}

func (fl fluid) step(f, loss float64) step {
	st := step{kind: fluidStep, k2: complex(1, -loss-boundaryLoss(f, fl.depth)), zk: z0, kd: 2 * math.Pi * f / c0 * fl.depth}
	if fl.r > 0 {
		zc, k := Miki(f, fl.r)
		st.k2, st.zk = k*k*complex(1, -loss), zc*k*z0
	}
	return st
}

// lateralLoss is the loss factor of the air in a cavity: sound that runs along the leaves is absorbed at the studs and edges it meets,
// once for each mean free path ℓ = π S/U of the flat bay.
//
//	η = c0 α/(ω ℓ)
func (a *assembly) lateralLoss(s *spring, f float64) float64 {
	b := s.bay(a.w)
	path := math.Pi * b * a.h / (2 * (b + a.h))
	return min(c0*edgeAbsorption/(2*math.Pi*f*path), 1)
}

// boundaryLoss is what friction and heat conduction at the two faces take from the air between them, a gap d deep:
//
//	η = (δ_v + (γ-1) δ_t)/d,  δ_v = √(2ν/ω),  δ_t = δ_v/√Pr
//
// Air at 20 °C: ν = 15e-6 m²/s, Pr = 0.71, γ = 1.4. Source: Crandall's slit for d well above δ; from memory, sure.
func boundaryLoss(f, d float64) float64 {
	return 1.475 * math.Sqrt(2*15e-6/(2*math.Pi*f)) / d
}

// edgeAbsorption is α of the edges of a cavity: studs, reveals and what leaks past them. Chosen on all measured walls and windows
// with empty cavities together.
const edgeAbsorption = 0.4

// bay is how far the air of a cavity reaches sideways: from stud to stud where there are studs.
func (s *spring) bay(width float64) float64 {
	for _, f := range s.frames {
		if f.Kind != "none" || f.Resilient != "" {
			sp := defaultSpacing
			if f.SpacingMM != nil {
				sp = *f.SpacingMM / 1000
			}
			width = min(width, sp)
		}
	}
	return width
}

// lateral is the share of sin²θ that the field in a bay can follow. A trace wave k along a bay of width b, closed at both ends, meets the
// uniform mode of the bay with the share sinc²(kb/2); only the rest runs along.
func lateral(trace, b float64) float64 {
	x := trace * b / 2
	if x < 1e-3 {
		return 0
	}
	sinc := math.Sin(x) / x
	return 1 - sinc*sinc
}

type azimuth struct{ x, y, x2, y2 float64 }

// azimuths are the directions along the panel, by the midpoint rule over a quarter turn.
var azimuths = azimuthRule(2)

func azimuthRule(n int) []azimuth {
	list := make([]azimuth, n)
	for i := range list {
		y, x := math.Sincos((float64(i) + 0.5) / float64(n) * math.Pi / 2)
		list[i] = azimuth{x, y, x * x, y * y}
	}
	return list
}

// overAngles is the mean of τ over the angles at one frequency.
func overAngles(steps []step, f, w, h float64) float64 {
	sigma := forcedRadiation(f, w, h, c0)
	epsilon := 1 / math.Sinh(sigma)
	var sum float64
	for i, x := range gaussNodes {
		cos := min(epsilon*math.Sinh(x*sigma), 1)
		// ∫ τ σ cosθ 2 cosθ sinθ dθ with cosθ = ε sinh t: 2 τ cos²θ dt, since σ(θ) d(cosθ) = dt.
		var tau float64
		for _, phi := range azimuths {
			tau += atAngle(steps, cos, phi)
		}
		sum += gaussWeights[i] * tau / float64(len(azimuths)) * cos * cos
	}
	return 2 * sigma * sum
}

// atAngle is τ for one angle of incidence.
func atAngle(steps []step, cos float64, phi azimuth) float64 {
	sin2 := 1 - cos*cos
	sin := math.Sqrt(sin2)
	y := complex(cos/z0, 0) // admittance of the air on each side
	p, v := complex(1, 0), y
	for i := range steps {
		s := &steps[i]
		switch s.kind {
		case leafStep:
			z := s.inertia - complex(-imag(s.bend)*sin2*sin2, real(s.bend)*sin2*sin2)
			if s.open > 0 {
				z = parallel(z, s.slits, s.open)
			}
			p += z * v
		case springStep:
			v += s.spring * p
		default:
			along := sin2 * (phi.x2*lateral(phi.x*sin, s.bx) + phi.y2*lateral(phi.y*sin, s.by))
			kz := cmplx.Sqrt(s.k2 - complex(along, 0)) // principal root: decays, since Im k2 < 0
			z := s.zk / kz
			cosine, sine := cosSin(kz * complex(s.kd, 0))
			p, v = cosine*p+complex(0, 1)*z*sine*v, complex(0, 1)*sine/z*p+cosine*v
		}
	}
	t := p + v/y
	return 4 / (real(t)*real(t) + imag(t)*imag(t))
}

// cosSin returns cosine and sine of a complex argument with one exponential.
func cosSin(x complex128) (cosine, sine complex128) {
	s, c := math.Sincos(real(x))
	e := math.Exp(imag(x))
	ch, sh := (e+1/e)/2, (e-1/e)/2
	return complex(c*ch, -s*sh), complex(s*ch, c*sh)
}
