package acoustics

import (
	"math"
	"slices"
)

// ply is one solid layer of a leaf, in SI.
type ply struct {
	kind              string
	mass, h           float64
	e, nu, eta, mount float64 // Pa, -, loss of the material, loss of mounting
	across            float64 // Pa, E across the grain where it differs
	heavy             bool
}

func (p ply) density() float64 { return p.mass / p.h }
func (p ply) plate() float64   { return p.e / (1 - p.nu*p.nu) }
func (p ply) bending() float64 { return BendingStiffness(p.e, p.h, p.nu) }

// critical is f_c of the ply alone.
func (p ply) critical() float64 { return CriticalFrequency(p.mass, p.bending()) }

// ply resolves a board: its own values first, then its material, then the default of its kind.
func (b Board) ply() ply {
	d := defaultOf(b.Kind())
	p := ply{kind: b.Kind(), mass: b.MassKgM2(), h: b.Thickness / 1000, nu: d.Poisson, eta: d.LossFactor, mount: d.MountedLoss, heavy: d.Heavy}
	m, named := MaterialByID(b.Material)
	if named {
		p.nu, p.eta, p.across = m.Poisson, m.LossFactor, m.AcrossGPa*1e9
	}
	if b.Poisson != nil {
		p.nu = *b.Poisson
	}
	if b.LossFactor != nil {
		p.eta = *b.LossFactor
	}
	switch cl := d.speed(p.density()); {
	case b.YoungsModulusGPa != nil:
		p.e = *b.YoungsModulusGPa * 1e9
	case named && m.YoungsModulusGPa > 0:
		p.e = m.YoungsModulusGPa * 1e9
	default:
		p.e = cl * cl * p.density() * (1 - p.nu*p.nu)
	}
	return p
}

// damper is a viscoelastic sheet in a leaf, in SI.
type damper struct {
	mass, h, g, eta float64
	polymer         *Polymer // where not nil, g and eta follow from it at celsius
	celsius         float64
	after           int // sits after the plate of this index; -1: before the first
}

// plate is one or more plies bonded to each other so that they bend as one.
type plate struct {
	plies []ply
	mass  float64
	h     float64
	b     float64 // bending stiffness, N·m
	eta   float64 // loss of the materials, weighted by stiffness
	mount float64
}

// newPlate bonds plies: bending about the neutral axis of the whole section.
func newPlate(plies []ply) plate {
	var p plate
	var stretch, moment float64
	z := 0.0
	for _, q := range plies {
		k := q.plate() * q.h
		stretch += k
		moment += k * (z + q.h/2)
		z += q.h
	}
	axis := moment / stretch
	z = 0
	for _, q := range plies {
		arm := z + q.h/2 - axis
		b := q.plate() * (q.h*q.h*q.h/12 + q.h*arm*arm)
		p.b += b
		p.eta += b * q.eta
		p.mount = max(p.mount, q.mount)
		p.mass += q.mass
		p.h += q.h
		z += q.h
	}
	p.eta /= p.b
	p.plies = plies
	return p
}

// leaf is what moves as one between two cavities: plates that slide on each other, sheets of weight, damping layers.
type leaf struct {
	plates  []plate
	dampers []damper
	mass    float64
	h       float64
	heavy   bool
	bend    [Bands]complex128 // bending stiffness with its loss, by band
	slits   []slit
}

// finish sums up the leaf and calculates its bending stiffness in each band.
func (l *leaf) finish(w, h float64, fit *fitted) {
	for _, p := range l.plates {
		l.mass += p.mass
		l.h += p.h
		for _, q := range p.plies {
			l.heavy = l.heavy || q.kind == "masonry" || q.kind == "concrete"
		}
	}
	for i, f := range bandHz {
		l.bend[i] = l.bending(float64(f), 2*(w+h)/(w*h), fit)
	}
}

// bending sums the plates, which are screwed and slide on each other, and adds what the damping layers couple between neighbours.
func (l *leaf) bending(f, edge float64, fit *fitted) complex128 {
	var b complex128
	friction := 0.0
	if l.dryJoint() {
		friction = fit.dryJoints
	}
	for _, p := range l.plates {
		eta := p.eta + p.mount + friction + fit.panelEdges*edgeLoss(f, CriticalFrequency(p.mass, p.b), edge)
		if l.heavy {
			eta = builtInLoss(p.eta, l.mass, f, fit.masonryEdges)
		}
		b += complex(p.b, p.b*eta)
	}
	for _, d := range l.dampers {
		if d.after < 0 || d.after+1 >= len(l.plates) {
			continue // on an outer face it is only weight
		}
		b += coupling(l.plates[d.after], l.plates[d.after+1], d, f)
	}
	return b
}

// dryJoint reports whether two light plates lie on each other with nothing between them.
func (l *leaf) dryJoint() bool {
	for i := 1; i < len(l.plates); i++ {
		damped := slices.ContainsFunc(l.dampers, func(d damper) bool { return d.after == i-1 })
		if !damped && !l.plates[i-1].plies[0].heavy && !l.plates[i].plies[0].heavy {
			return true
		}
	}
	return false
}

// edgeLoss is what a panel loses along its edges for α = 1: c0 U/(π² S √(f f_c)), edge being U/S in 1/m. Source: ISO 12354-1:2017 (C.1).
func edgeLoss(f, fc, edge float64) float64 {
	return c0 * edge / (math.Pi * math.Pi * math.Sqrt(f*fc))
}

// coupling is what a damping layer between two plates adds to their uncoupled bending stiffness.
func coupling(p1, p3 plate, d damper, f float64) complex128 {
	if d.polymer != nil {
		d.g, d.eta = d.polymer.Shear(f, d.celsius)
	}
	modulus := func(p plate) complex128 { return complex(12*p.b/(p.h*p.h*p.h), 0) }
	s := Sandwich{
		E1: modulus(p1), E3: modulus(p3), H1: p1.h, H3: p3.h, H2: d.h,
		G2: complex(d.g, d.g*d.eta), Mass: p1.mass + p3.mass + d.mass,
	}
	added := s.Bending(f) - s.uncoupled()
	return complex(max(0, real(added)), max(0, imag(added)))
}

// critical is f_c of the whole leaf in a band, 0 for a limp one.
func (l *leaf) critical(band int) float64 {
	if len(l.plates) == 0 {
		return 0
	}
	return CriticalFrequency(l.mass, real(l.bend[band]))
}

// loss is the total loss factor of the leaf in a band.
func (l *leaf) loss(band int) float64 {
	if len(l.plates) == 0 {
		return 1
	}
	return imag(l.bend[band]) / real(l.bend[band])
}

// homogeneous is the leaf as ISO 12354-1 Annex B sees it.
func (l *leaf) homogeneous(band int, l1, l2 float64) Homogeneous {
	main := l.plates[0]
	for _, p := range l.plates {
		if p.mass > main.mass {
			main = p
		}
	}
	return Homogeneous{
		Mass: l.mass, Critical: l.critical(band), L1: l1, L2: l2, Density: main.mass / main.h, Thickness: l.h,
		WaveSpeed: math.Sqrt(12 * main.b / (main.h * main.h * main.h) / (main.mass / main.h)),
	}
}
