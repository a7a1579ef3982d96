package acoustics

import (
	"fmt"
	"math"
)

// impact fills in L_n and its single numbers for a floor, where they can be honestly predicted. Layers go from below upward: the tapping
// machine stands on the last one.
func (b BuildUp) impact(a *assembly, through *[Bands]passing, p *Prediction) {
	if b.Surface == "wall" {
		return
	}
	var c Curve
	var delta func(f float64) float64
	family := familyImpactTimber
	if slab := a.slab(); slab >= 0 {
		family = familyImpactHeavy
		c, delta = a.heavyImpact(slab)
		p.Notes = append(p.Notes, "impact: heavy slab by ISO 12354-2, what lies on it by its mass-spring resonance")
	} else {
		c = a.lightImpact(through)
		p.Notes = append(p.Notes, "impact: an estimate by reciprocity from the airborne transmission; joist floors vary widely")
		if loud, n := meanError(family); loud != 0 && !a.constants().raw {
			for band := range bandHz {
				c.db[band] -= loud
			}
			p.Notes = append(p.Notes, fmt.Sprintf("impact: %d measured timber floors were calculated %.1f dB too loud on average; that mean error of the model is taken off here", n, loud))
		}
	}
	covering := b.covering()
	if covering != nil {
		for band, f := range bandHz {
			c.db[band] -= covering(float64(f))
		}
	}
	r, err := RateImpact(c)
	if err != nil {
		return
	}
	p.Ln, p.LnwDB, p.CIDB = new(c.Rounded()), new(r.Value), new(r.CI)
	if delta != nil || covering != nil {
		p.DeltaLwDB = new(tenth(weightedImprovement(func(f float64) float64 {
			var sum float64
			if delta != nil {
				sum += delta(f)
			}
			if covering != nil {
				sum += covering(f)
			}
			return sum
		})))
	}
	p.LnwUDB = new(b.impactUncertainty(a, family, p.RwDB))
}

// slab is the heavy leaf of a floor that ISO 12354-2 covers: one heavy leaf, on mats above at most one floating layer, -1 where it is not.
func (a *assembly) slab() int {
	found := -1
	for i := range a.leaves {
		if a.leaves[i].heavy {
			if found >= 0 {
				return -1
			}
			found = i
		}
	}
	if found < 0 || len(a.leaves)-1-found > 1 {
		return -1
	}
	if found+1 < len(a.leaves) && a.springs[found].mat == 0 {
		return -1
	}
	return found
}

// heavyImpact is L_n of a heavy slab, less the floating floor above it and the ceiling below it; delta is ΔL of what lies on it.
func (a *assembly) heavyImpact(slab int) (c Curve, delta func(f float64) float64) {
	l := &a.leaves[slab]
	bare := assembly{leaves: a.leaves[slab : slab+1], w: a.w, h: a.h}
	below := assembly{leaves: a.leaves[:slab+1], springs: a.springs[:slab], w: a.w, h: a.h}
	if slab+1 < len(a.leaves) {
		s, floating := &a.springs[slab], &a.leaves[slab+1]
		f0 := FloatingResonance(s.mat/1e6, floating.mass)
		delta = func(f float64) float64 { return FloatingImprovement(f, f0, !floating.wet()) }
	}
	for band, hz := range bandHz {
		f := float64(hz)
		h := l.homogeneous(band, a.w, a.h)
		level := SlabImpact(f, l.mass, RadiationEfficiency(f, h.Critical, a.w, a.h, StandardAir), a.heavyLoss(band, l))
		if slab > 0 { // a ceiling below takes from impact sound what it takes from airborne sound
			level -= decibels(below.bandTransmission(band).tau) - decibels(bare.bandTransmission(band).tau)
		}
		if delta != nil {
			level -= delta(f)
		}
		c.set(band, level)
	}
	return c, delta
}

// wet reports whether a floating leaf is a screed cast in place.
func (l *leaf) wet() bool {
	for _, p := range l.plates {
		for _, q := range p.plies {
			if q.kind == "screed" || q.kind == "concrete" {
				return true
			}
		}
	}
	return false
}

// Hammers of the standard tapping machine (ISO 10140-5): 0.5 kg falling 40 mm, ten blows a second.
const hammerKg = 0.5

// lightImpact estimates L_n of a light floor by reciprocity. The level that a force on the top plate makes below is to the force as the
// velocity of the top plate is to a source below, and that velocity follows from the transmission upward:
//
//	p² = F² k0²/(4π A) Σ τ_i/σ_i,  A = 10 m²,  F² = 0.909 f N² in a third octave for a short blow
//
// which for one path with σ = 1 is the known L_n + R = 38 + 30 lg f. Each path radiates with its own σ: forced waves with σ_f, free waves
// with that of the plate. A plate that gives way takes less force from the hammer: F² falls by Z²/(Z² + (ωm)²), Z = 8 √(B' m').
// Derived here; source of the limit: EN 12354-2:2000, Annex B.
func (a *assembly) lightImpact(through *[Bands]passing) Curve {
	var c Curve
	top := &a.leaves[len(a.leaves)-1]
	for band, hz := range bandHz {
		f := float64(hz)
		force := 0.909 * f
		if p := top.topPlate(); p != nil {
			z, inertia := top.pointImpedance(), 2*math.Pi*f*hammerKg
			force *= z * z / (z*z + inertia*inertia)
			if fco := p.contactHz(); fco > 0 {
				force /= 1 + math.Pow(f/fco, 4)
			}
		}
		k := 2 * math.Pi * f / c0
		p2 := force * k * k / (4 * math.Pi * 10) * through[band].overSigma
		c.set(band, 10*math.Log10(max(p2, 1e-30)/4e-10))
	}
	return c
}

// acrossGrain is the modulus of timber and timber panels through their thickness, 0.2 to 0.8 GPa; from memory, fair.
const acrossGrain = 0.4e9

// contactHz is the frequency in Hz above which a soft surface lengthens the blow, 0 where it does not matter: the hammer of 30 mm diameter
// on the stiffness K = E D of the surface, √(K/m)/(2π). Source: Lindblad, as in Hopkins, Sound Insulation, 2007; from memory, fair.
func (p *plate) contactHz() float64 {
	if p.plies[len(p.plies)-1].kind != "timber_panel" {
		return 0
	}
	const diameter = 0.03
	return math.Sqrt(acrossGrain*diameter/hammerKg) / (2 * math.Pi)
}

// pointImpedance is what a hammer moves, 8 √(B' m') in N·s/m: all sheets of the leaf together, and for timber the geometric mean of B' along
// and across the grain, as for any orthotropic plate. Source: Cremer, Heckl and Ungar, Structure-Borne Sound, from memory, sure.
func (l *leaf) pointImpedance() float64 {
	var b, m float64
	for _, p := range l.plates {
		m += p.mass
		for _, q := range p.plies {
			if q.across > 0 && len(p.plies) == 1 {
				p.b *= math.Sqrt(q.across / q.e)
			}
		}
		b += p.b
	}
	return 8 * math.Sqrt(b*m)
}

// topPlate is the plate the hammer strikes.
func (l *leaf) topPlate() *plate {
	if len(l.plates) == 0 {
		return nil
	}
	return &l.plates[len(l.plates)-1]
}

// covering is ΔL of the soft coverings on top, nil where no ΔL_w is given.
func (b BuildUp) covering() func(f float64) float64 {
	s, ok := plain(b.Layers[len(b.Layers)-1].Element).(SoftCovering)
	if !ok || s.DeltaLwDB == nil || *s.DeltaLwDB <= 0 {
		return nil
	}
	f0 := coveringResonance(*s.DeltaLwDB)
	return func(f float64) float64 { return FloatingImprovement(f, f0, true) }
}

// meanError is how much too loud, in dB, the estimates of the measured floors of a family came out on average, and their number; 0 where that
// may be chance, being no more than twice its standard error. It is taken off the estimate: three floors that it was not found on come nearer by it.
func meanError(family string) (db float64, n int) {
	a := accuracyOf(family)
	spread := math.Sqrt(max(0, a.RMSDB*a.RMSDB-a.BiasDB*a.BiasDB) / max(1, float64(a.N-1)))
	if a.N < 3 || math.Abs(a.BiasDB) <= 2*spread {
		return 0, a.N
	}
	return -a.BiasDB, a.N
}

// impactUncertainty is the standard uncertainty of L_n,w: the pooled error of the measured floors of the family, widened by what they do not
// have; for timber floors not less than [spreadTimber].
func (b BuildUp) impactUncertainty(a *assembly, family string, rw int) float64 {
	sum := pooledError(accuracyOf(family))
	if family == familyImpactTimber {
		sum = max(sum, spreadTimber*spreadTimber)
	}
	for range b.unmeasured() {
		sum += spreadUnmeasured * spreadUnmeasured
	}
	if bridged(b.PointBridges) { // they carry steps as they carry speech
		_, spread := a.lossByPoints(rw)
		sum += spread * spread
	}
	if len(b.Gaps) > 0 || len(b.Unknown) > 0 {
		sum += spreadDefect * spreadDefect
	}
	return tenth(math.Sqrt(sum))
}
