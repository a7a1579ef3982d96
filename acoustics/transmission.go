package acoustics

import "math"

// passing is what passes in a band: τ, and Σ τ_i/σ_i over the waves that radiate on the far side, for the velocity of the last leaf.
type passing struct{ tau, overSigma float64 }

// transmission returns what passes in each band: the stack in a diffuse field, corrected leaf by leaf for what an infinite thin plate leaves
// out, with the structural connections across each cavity beside it as energy.
func (a *assembly) transmission() *[Bands]passing {
	var out [Bands]passing
	for band := range Bands {
		out[band] = a.bandTransmission(band)
	}
	return &out
}

// reduction is R of what passes, in dB; 150 dB is more than anything lets be measured.
func reduction(through *[Bands]passing) Curve {
	var c Curve
	for band, p := range through {
		c.set(band, decibels(max(p.tau, 1e-15)))
	}
	return c
}

func (a *assembly) bandTransmission(band int) passing {
	last := len(a.leaves) - 1
	var pairTau [maxLayers + 1]float64
	var pairs []float64
	if last > 1 {
		pairs = pairTau[:last]
	}
	tau := a.diffuse(band, 0, last, pairs)
	var gain [maxLayers + 1]float64
	for i := range a.leaves {
		gain[i] = a.leafGain(band, i)
		tau *= gain[i]
	}
	forced, free := a.lastSigma(band)
	out := passing{tau: tau, overSigma: tau * (1/forced + (gain[last]-1)/free) / gain[last]}
	for i := range a.springs {
		bridge, overSigma := a.bridging(band, i)
		if bridge == 0 {
			continue
		}
		pair := tau
		if last > 1 {
			pair = pairs[i] * gain[i] * gain[i+1]
		}
		share := bridge / pair
		if i == last-1 {
			out.overSigma += out.tau * share * overSigma
		} else {
			out.overSigma *= 1 + share
		}
		out.tau *= 1 + share
	}
	if bridge, overSigma := a.aroundEdges(band); bridge > 0 {
		out.tau += bridge
		out.overSigma += bridge * overSigma
	}
	for i := range a.springs {
		if x := a.resonantFloat(band, i); x > 1 {
			out.tau *= x
			out.overSigma *= x
		}
	}
	out.tau += a.throughSlits(float64(bandHz[band]))
	return passing{tau: min(out.tau, 1), overSigma: out.overSigma}
}

// resonantFloat is what the free waves of a screed on a mat add: its improvement rises by 30 lg(f/f0) where a locally reacting floor, which
// the stack is, has 40 lg(f/f0). Source: EN 12354-2:2000 and ISO 12354-2:2017, Annex C, by reciprocity.
func (a *assembly) resonantFloat(band, i int) float64 {
	f0 := a.resonance(i)
	if a.springs[i].mat == 0 || f0 == 0 || !(a.leaves[i].wet() || a.leaves[i+1].wet()) {
		return 1
	}
	return float64(bandHz[band]) / f0
}

// lastSigma is the radiation efficiency of the last leaf for forced and for free waves.
func (a *assembly) lastSigma(band int) (forced, free float64) {
	l := &a.leaves[len(a.leaves)-1]
	f, fc := float64(bandHz[band]), l.critical(band)
	forced = forcedRadiation(f, a.w, a.h, c0)
	if fc == 0 {
		return forced, forced
	}
	free = RadiationEfficiency(f, fc, a.w, a.h, StandardAir)
	if f < fc {
		free = min(baffleEdges*free, 2)
	}
	if l.heavy {
		return free, free
	}
	return forced, free
}

// leafGain is τ of a leaf as a finite plate with all its waves over τ of the same leaf in the stack. A light leaf is an infinite thin plate
// there: below f_c the resonant term of ISO 12354-1 Annex B comes to it. A heavy leaf is a limp mass there (see stackMass).
func (a *assembly) leafGain(band, i int) float64 {
	l := &a.leaves[i]
	fc, f := l.critical(band), float64(bandHz[band])
	if l.heavy && l.mass > 0 {
		return a.heavyTau(band, l) / limpTau(f, a.stackMass(band, i), forcedRadiation(f, a.w, a.h, c0))
	}
	if fc == 0 || l.mass == 0 || f >= fc {
		return 1
	}
	sigma := RadiationEfficiency(f, fc, a.w, a.h, StandardAir)
	eta := l.loss(band) + radiationLoss(f, l.mass, sigma)
	below := 1 - f*f/(fc*fc)
	// The third factor takes the term away towards f_c, where the infinite plate has all.
	return 1 + below*below*below*math.Pi*fc*sigma*sigma/(2*f*eta)/(2*forcedRadiation(f, a.w, a.h, c0))
}

// heavyTau is τ of a heavy leaf by ISO 12354-1 Annex B.
func (a *assembly) heavyTau(band int, l *leaf) float64 {
	f := float64(bandHz[band])
	h := l.homogeneous(band, a.w, a.h)
	return h.Transmission(f, a.heavyLoss(band, l), inBand(h.Critical, f), StandardAir)
}

// limpTau is τ of a limp leaf in a diffuse field: (2ρ0c0/(ωm'))² 2σ_f.
func limpTau(f, mass, forced float64) float64 {
	x := z0 / (math.Pi * f * mass)
	return x * x * 2 * forced
}

// stackMass is the surface mass in kg/m² of the limp leaf that a heavy leaf is in a stack. Under a floating floor it is its own: the floor
// resonates on the mat with the mass of both. Behind a lining it is the mass that lets as much through as the leaf does by Annex B: the
// spring of the air loads the free waves of the wall, which give way more easily than its mass.
func (a *assembly) stackMass(band, i int) float64 {
	l := &a.leaves[i]
	if i > 0 && a.springs[i-1].mat > 0 || i < len(a.springs) && a.springs[i].mat > 0 {
		return l.mass
	}
	f := float64(bandHz[band])
	forced := forcedRadiation(f, a.w, a.h, c0)
	return min(l.mass, math.Sqrt(limpTau(f, 1, forced)/a.heavyTau(band, l)))
}

// heavyLoss is the total loss factor of a heavy leaf: with what it radiates to both sides, as in (C.1) of ISO 12354-1.
func (a *assembly) heavyLoss(band int, l *leaf) float64 {
	f := float64(bandHz[band])
	return l.loss(band) + 2*radiationLoss(f, l.mass, RadiationEfficiency(f, l.critical(band), a.w, a.h, StandardAir))
}

// radiationLoss is what radiation from one side adds to a loss factor: ρ0 c0 σ/(ω m').
func radiationLoss(f, mass, sigma float64) float64 { return z0 * sigma / (2 * math.Pi * f * mass) }

// Edges that are not those of a plate in an infinite baffle raise σ below f_c: walls around it two to four times (ISO 12354-1 Annex B), so
// baffleEdges; studs, to which a board is fixed somewhere between supported (once) and clamped (twice), 1.5 times. As the strip between two
// studs holds the outer edges once and the whole panel once more, studLines on both makes 1.5 of the studs and 3 of the outer edges.
const (
	baffleEdges = 3
	studLines   = baffleEdges / 2.0
)

// bridging is τ of all connections across a spring, 0 where there are none, and the mean of 1/σ over it for the free waves of the far leaf.
func (a *assembly) bridging(band, i int) (tau, overSigma float64) {
	s := &a.springs[i]
	line, ok := a.line(s)
	if !ok {
		line, ok = a.spacer(i)
	}
	if ok {
		tau, overSigma = a.bridge(band, i, i+1, line, line.Spacing)
	}
	for _, p := range s.points {
		t, o := a.bridge(band, i, i+1, p, defaultSpacing)
		tau, overSigma = tau+t, overSigma+o
	}
	if tau > 0 {
		overSigma /= tau
	}
	return tau, overSigma
}

// aroundEdges is τ from the first leaf straight to the last where three or more stand on the same edges: an inner leaf does not interrupt what
// head, foot and ends carry past it.
func (a *assembly) aroundEdges(band int) (tau, overSigma float64) {
	last := len(a.leaves) - 1
	if last < 2 {
		return 0, 0
	}
	edges := Bridge{Mass: math.Inf(1), softening: a.constants().softening}
	for i := range a.springs {
		line, ok := a.line(&a.springs[i])
		if !ok || !a.springs[i].atEdges() {
			return 0, 0
		}
		edges.Spacing = line.Spacing
		edges.Compliance += line.Compliance
		edges.Mass = min(edges.Mass, line.Mass)
	}
	tau, overSigma = a.bridge(band, 0, last, edges, edges.Spacing)
	if tau > 0 {
		overSigma /= tau
	}
	return tau, overSigma
}

// atEdges reports whether the framing connects the two sides at its edges only.
func (s *spring) atEdges() bool {
	for _, f := range s.frames {
		if !frameOf(f.Kind).EdgesOnly {
			return false
		}
	}
	return len(s.frames) > 0
}

// bridge is τ of one connection between two leaves, 0 where one of them has no stiffness, and τ times the mean of 1/σ for the free waves of
// the far one.
func (a *assembly) bridge(band, from, to int, b Bridge, spacing float64) (tau, overSigma float64) {
	l1, l2 := &a.leaves[from], &a.leaves[to]
	if l1.mass == 0 || l2.mass == 0 || l1.critical(band) == 0 || l2.critical(band) == 0 {
		return 0, 0
	}
	f, point := float64(bandHz[band]), b.PerM2 > 0
	near, _ := a.bridged(band, from, spacing, point)
	far, sigma := a.bridged(band, to, spacing, point)
	// Below the resonance both leaves move together and a connection carries nothing more.
	tau = b.Transmission(f, near, far) / (1 + math.Pow(a.resonanceOf(from, to)/f, 4))
	return tau, tau * far.Resonant / (1 + far.Resonant) / sigma
}

// bridged is a leaf as a connection sees it, in fields as wide as the spacing of the connections, and σ of its free waves.
func (a *assembly) bridged(band, i int, spacing float64, point bool) (out BridgedLeaf, sigma float64) {
	l := &a.leaves[i]
	f, fc := float64(bandHz[band]), l.critical(band)
	out = BridgedLeaf{Mass: l.mass, Critical: fc}
	sigma = RadiationEfficiency(f, fc, min(spacing, a.w), a.h, StandardAir)
	if f < fc {
		sigma = min(studLines*(sigma+RadiationEfficiency(f, fc, a.w, a.h, StandardAir)), 2)
	}
	eta := l.loss(band) + radiationLoss(f, l.mass, sigma)
	if point {
		out.Resonant = resonantPoint(f, fc, sigma, eta)
	} else {
		out.Resonant = resonantLine(f, fc, sigma, eta)
	}
	return out, sigma
}

// resonance is f0 of the two leaves on the spring i, in Hz.
func (a *assembly) resonance(i int) float64 { return a.resonanceOf(i, i+1) }

// resonanceOf is f0 of two leaves on all that lies between them, in Hz; leaves in between are left out.
func (a *assembly) resonanceOf(from, to int) float64 {
	m1, m2 := a.leaves[from].mass, a.leaves[to].mass
	if m1 == 0 || m2 == 0 {
		return 0
	}
	compliance := 0.0
	for _, s := range a.springs[from:to] {
		// Air in wool is isothermal, air outside of it adiabatic: springs in series.
		compliance += s.filled/p0 + (s.depth-s.filled)/(rho0*c0*c0)
		if s.mat > 0 {
			compliance += 1 / s.mat
		}
	}
	return MassSpringMass(1/compliance, m1, m2)
}

// line is the line connection across a cavity: the framing of the merged cavities in series, or none where one of them has none.
func (a *assembly) line(s *spring) (Bridge, bool) {
	if s.open || s.mat > 0 || len(s.frames) == 0 {
		return Bridge{}, false
	}
	b := Bridge{softening: a.constants().softening}
	for _, f := range s.frames {
		d := frameOf(f.Kind)
		if !d.Connects && f.Resilient == "" {
			return Bridge{}, false
		}
		spacing := defaultSpacing
		if f.SpacingMM != nil {
			spacing = *f.SpacingMM / 1000
		}
		mass := d.LineMassKgM
		if f.MassKgM2 != nil {
			mass = *f.MassKgM2 * spacing
		}
		if d.EdgesOnly {
			spacing = a.w * a.h / (2 * (a.w + a.h)) // head, foot and both ends
		}
		b.Spacing = max(b.Spacing, spacing)
		b.Mass += mass
		b.Compliance += d.ComplianceM2N + a.constants().resilient*resilientCompliance(f.Resilient)
	}
	return b, true
}

// spacer is the connection of the two panes of a sealed unit: a rigid line all round. Its seals, a fraction of a millimetre of rubber, give way
// less than panes do. Panes no further apart than [sealedUnit] are taken as one unless the framing of their cavity says otherwise.
func (a *assembly) spacer(i int) (Bridge, bool) {
	if !a.sealed(i) {
		return Bridge{}, false
	}
	return Bridge{Spacing: a.w * a.h / (2 * (a.w + a.h)), Mass: spacerMass}, true
}

// sealed reports whether two leaves are the panes of a sealed unit.
func (a *assembly) sealed(i int) bool {
	s := &a.springs[i]
	return s.unsaid && s.mat == 0 && s.depth <= sealedUnit && a.leaves[i].allOf("glass") && a.leaves[i+1].allOf("glass")
}

const (
	sealedUnit = 0.024 // m: sealed units have 6 to 24 mm between their panes; common practice
	spacerMass = 0.3   // kg/m of spacer, drying agent and seals; common practice, no source
)
