package acoustics

import "math"

// Resolution of the diffuse field: frequencies in a third-octave band, angles of incidence at each.
const (
	perBand = 3
	angles  = 24
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
	// fluid: (k/k0)², Z_c k/k0 and its inverse, k0 d, and the bay it lies in
	k2, zk, perZk complex128
	kd            float64
	bay           int // its place among the bays
	// spring: jω/s'
	spring complex128
}

// bay is the flat space of one cavity: k0 times its two sides, and the share of sin²θ that its field follows at the angle in hand.
type bay struct{ kx, ky, along float64 }

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
// A finite panel radiates with σ(θ) = 1/√(cos²θ + ε²) where an infinite one has 1/cos θ, so ρ0c0σ takes the place of Z0 on both sides; ε is
// such that the mean over a diffuse field is σ_f of ISO 12354-1 Annex B, and a limp panel gives τ = (2ρ0c0/(ω m'))² 2 σ_f. (Vigran 2009
// weights τ of the infinite stack by σ cos θ, which is the same but for the load of the air.) With cos θ = ε sinh t, t from 0 to σ_f, the
// weight becomes even: the sum over angles is fine where grazing waves need it.
//
// Source: plate with one f_c: Vigran, Building Acoustics, 2008, eq. 6.108; fluid: Cox and D'Antonio, eqs 2.29 to 2.32; not yet compared
// with the printed text.
//
// pairs, where not nil, takes τ of each two neighbouring leaves alone, from the same matrices.
func (a *assembly) diffuse(band, from, to int, pairs []float64) float64 {
	var steps [64]step
	var bays [maxLayers + 1]bay
	var sum float64
	for n := range perBand {
		f := float64(bandHz[band]) * math.Pow(2, ((float64(n)+0.5)/perBand-0.5)/3)
		sum += overAngles(a.steps(steps[:0], bays[:], band, f, from, to), bays[:to-from], n, f, a.w, a.h, pairs)
	}
	return sum / perBand
}

// steps prepares the parts at one frequency, from the receiving side back to the source side; bays takes the bay of each cavity.
func (a *assembly) steps(out []step, bays []bay, band int, f float64, from, to int) []step {
	omega := 2 * math.Pi * f
	for i := to; i >= from; i-- {
		l := &a.leaves[i]
		s := step{kind: leafStep, inertia: complex(0, omega*l.mass)}
		if l.heavy {
			s.inertia = complex(0, omega*a.stackMass(band, i))
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
		}
		bays[i-1-from] = bay{kx: omega / c0 * sp.bay(a.w), ky: omega / c0 * a.h}
		for j := len(sp.fluids) - 1; j >= 0; j-- {
			st := sp.fluids[j].step(f, a.lateralLoss(sp, f, sp.fluids[j].r > 0))
			st.bay = i - 1 - from
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
	st.perZk = 1 / st.zk
	return st
}

// lateralLoss is the loss factor of the air in a cavity: sound that runs along the leaves is absorbed at the studs and edges it meets,
// once for each mean free path ℓ = π S/U of the flat bay.
//
//	η = c0 α/(ω ℓ)
func (a *assembly) lateralLoss(s *spring, f float64, wool bool) float64 {
	b := s.bay(a.w)
	if !wool { // in air any stud is an obstacle, whether it closes the depth or not; wool absorbs more than they do
		b = s.between(a.w, func(Frame) bool { return false })
	}
	path := math.Pi * b * a.h / (2 * (b + a.h))
	alpha := a.constants().cavityEdges
	if len(s.frames) == 0 {
		alpha = a.constants().reveals
	}
	return min(c0*alpha/(2*math.Pi*f*path), 1)
}

// boundaryLoss is what friction and heat conduction at the two faces take from the air between them, a gap d deep:
//
//	η = (δ_v + (γ-1) δ_t)/d,  δ_v = √(2ν/ω),  δ_t = δ_v/√Pr
//
// Air at 20 °C: ν = 15e-6 m²/s, Pr = 0.71, γ = 1.4. Source: Crandall's slit for d well above δ; from memory, sure.
func boundaryLoss(f, d float64) float64 {
	return 1.475 * math.Sqrt(2*15e-6/(2*math.Pi*f)) / d
}

// bay is how far the air of a cavity reaches sideways: from stud to stud where studs or bars cross its depth or nearly so. The studs of twin
// frames and of independent linings leave the rest of the depth open.
func (s *spring) bay(width float64) float64 {
	return s.between(width, func(f Frame) bool { return f.Kind == "twin_frame" || f.Kind == "independent" })
}

// between is the distance of the studs and bars of the framing that is not left out. Where one side hangs on bars or clips the spacing given is
// theirs; the studs behind them, which are the obstacle, are taken as far apart as is common.
func (s *spring) between(width float64, out func(Frame) bool) float64 {
	for _, f := range s.frames {
		if !out(f) && (f.Kind != "none" || f.Resilient != "") {
			sp := defaultSpacing
			if f.SpacingMM != nil && f.Resilient == "" {
				sp = *f.SpacingMM / 1000
			}
			width = min(width, sp)
		}
	}
	return width
}

// lateral is the share of sin²θ that the field in a bay can follow. A trace wave k along a bay of width b, closed at both ends, meets the
// uniform mode of the bay with the share sinc²(kb/2); only the rest runs along.
func lateral(kb float64) float64 {
	x := kb / 2
	if x < 0.1 {
		return x * x / 3
	}
	sinc := math.Sin(x) / x
	return 1 - sinc*sinc
}

// azimuths are directions along the panel, at one and three eighths of a quarter turn; successive angles take them in turn.
var azimuths = [2]struct{ x, y float64 }{
	{math.Cos(math.Pi / 8), math.Sin(math.Pi / 8)}, {math.Cos(3 * math.Pi / 8), math.Sin(3 * math.Pi / 8)},
}

// overAngles is the mean of τ over the angles at the n-th frequency of a band.
func overAngles(steps []step, bays []bay, n int, f, w, h float64, pairs []float64) float64 {
	sigma := forcedRadiation(f, w, h, c0)
	epsilon := 1 / math.Sinh(sigma)
	var sum float64
	for i, x := range gaussNodes {
		cos := min(epsilon*math.Sinh(x*sigma), 1)
		sin2 := 1 - cos*cos
		phi := azimuths[(i+n)%2]
		kx, ky := phi.x*math.Sqrt(sin2), phi.y*math.Sqrt(sin2)
		for b := range bays {
			bays[b].along = kx*kx*lateral(kx*bays[b].kx) + ky*ky*lateral(ky*bays[b].ky)
		}
		// τ(θ) = 4/(σ cosθ |D|²), D of atAngle; ∫ τ 2 cosθ sinθ dθ with cosθ = ε sinh t is ∫ 8/(σ²|D|²) dt, since σ d(cosθ) = dt.
		perSigma2 := cos*cos + epsilon*epsilon
		weight := gaussWeights[i] * perSigma2
		sum += weight * atAngle(steps, bays, z0/math.Sqrt(perSigma2), sin2, pairs, weight*2*sigma/perBand)
	}
	return 2 * sigma * sum
}

// atAngle is 4/|D|² for one angle of incidence: D = T11 + T12/z + T21 z + T22, z the impedance of the air on each side.
// pairs, where not nil, is added the same for each two neighbouring leaves, times weight.
func atAngle(steps []step, bays []bay, z, sin2 float64, pairs []float64, weight float64) float64 {
	p, v := complex(1, 0), complex(1/z, 0)
	// The pair in hand: it begins with each leaf and ends with the next.
	q, u := p, v
	pair := len(pairs)
	for i := range steps {
		s := &steps[i]
		switch s.kind {
		case leafStep:
			// Z = jω m' - j B' ω³ sin⁴θ/c0⁴
			b4 := sin2 * sin2
			plate := complex(real(s.inertia)+imag(s.bend)*b4, imag(s.inertia)-real(s.bend)*b4)
			if s.open > 0 {
				plate = parallel(plate, s.slits, s.open)
			}
			p += plate * v
			if pairs != nil {
				if pair < len(pairs) {
					pairs[pair] += weight * loudness(q+plate*u, u, z)
				}
				pair--
				q, u = 1+plate*complex(1/z, 0), complex(1/z, 0)
			}
		case springStep:
			v += s.spring * p
			u += s.spring * q
		default:
			// cos and sin of k_z d, the latter over k_z d: both depend on k_z² alone.
			kz2 := complex(real(s.k2)-bays[s.bay].along, imag(s.k2))
			cosine, sinc := cosSinc(complex(real(kz2)*s.kd*s.kd, imag(kz2)*s.kd*s.kd))
			j := complex(-imag(sinc)*s.kd, real(sinc)*s.kd) // j k0 d sin(x)/x
			across, along := s.zk*j, kz2*s.perZk*j
			p, v = cosine*p+across*v, along*p+cosine*v
			if pairs != nil {
				q, u = cosine*q+across*u, along*q+cosine*u
			}
		}
	}
	return loudness(p, v, z)
}

// loudness is 4/|D|² from pressure and velocity on the source side.
func loudness(p, v complex128, z float64) float64 {
	re, im := real(p)+real(v)*z, imag(p)+imag(v)*z
	return 4 / (re*re + im*im)
}

// cosSinc returns cos x and sin(x)/x for x = √u, with real square roots and one exponential; the sign of the root does not matter.
// Beyond 40 nepers nothing that is ever heard passes, and the exponential is held there.
func cosSinc(u complex128) (cosine, sinc complex128) {
	size := math.Sqrt(real(u)*real(u) + imag(u)*imag(u))
	if size < 0.5 { // series to 1e-10
		cosine = 1 - u*(1.0/2-u*(1.0/24-u*(1.0/720-u*(1.0/40320-u*(1.0/3628800)))))
		sinc = 1 - u*(1.0/6-u*(1.0/120-u*(1.0/5040-u*(1.0/362880-u*(1.0/39916800)))))
		return cosine, sinc
	}
	// The larger part of the root by addition, the smaller by division: no cancellation.
	var x, y float64
	if real(u) >= 0 {
		x = math.Sqrt((size + real(u)) / 2)
		y = imag(u) / (2 * x)
	} else {
		y = math.Sqrt((size - real(u)) / 2)
		x = imag(u) / (2 * y)
	}
	s, c := math.Sincos(x)
	e := math.Exp(max(min(y, 40), -40))
	ch, sh := (e+1/e)/2, (e-1/e)/2
	cosine = complex(c*ch, -s*sh)
	sr, si := s*ch, c*sh
	return cosine, complex((sr*x+si*y)/size, (si*x-sr*y)/size)
}
