package acoustics

import (
	"fmt"
	"math"
)

// validityNotes says where a prediction leaves the range its equations hold in.
func (b BuildUp) validityNotes(a *assembly, p Prediction) []string {
	var notes []string
	if a.open {
		notes = append(notes, "a cavity or mat on an outer face is open to the room: it is no spring there, and of a mat only the weight counts")
	}
	if b.Surface != "wall" {
		notes = append(notes, b.orderNotes()...)
	}
	if b.has("membrane") {
		notes = append(notes, b.membraneNote())
	}
	for i := range a.leaves {
		if f := a.leaves[i].thinUpTo(); f < 3150 && !a.leaves[i].heavy {
			notes = append(notes, fmt.Sprintf("leaf %d is thick against its bending waves above %.0f Hz: thin-plate theory is too optimistic there", i+1, f))
		}
		if rho := a.leaves[i].poresOpen(); rho > 0 {
			notes = append(notes, fmt.Sprintf("leaf %d, masonry of %.0f kg/m³, is calculated as sealed on at least one face; bare porous block lets sound through its pores and "+
				"loses 5 to 10 dB", i+1, rho))
		}
		if a.leaves[i].heavy && a.leaves[i].mass < 150 {
			notes = append(notes, fmt.Sprintf("leaf %d is masonry or concrete below 150 kg/m², where the rule for its mass ends; measured blocks of that kind lie above their calculation", i+1))
		}
		if a.leaves[i].heavy && a.leaves[i].mass > 800 {
			notes = append(notes, fmt.Sprintf("leaf %d is heavier than 800 kg/m², beyond the laboratory loss factor of ISO 12354-1", i+1))
		}
	}
	for i, s := range a.springs {
		if _, framed := a.line(&s); framed && (len(a.leaves[i].plates) == 0 || len(a.leaves[i+1].plates) == 0) {
			notes = append(notes, fmt.Sprintf("cavity %d has framing but one of its leaves has no stiffness: what the framing carries is not counted", i+1))
		}
		if a.sealed(i) {
			notes = append(notes, fmt.Sprintf("the panes of cavity %d are taken as a sealed unit, with a spacer all round that carries sound from one to the other; name its framing as none for panes in frames of their own", i+1))
		}
		for _, f := range s.frames {
			if f.Kind == "independent" {
				notes = append(notes, fmt.Sprintf("the framing in cavity %d is taken to touch nothing on its far side; round its edges a heavy floor and heavy walls move, which timber would do more easily", i+1))
			}
		}
		for _, fl := range s.fluids {
			if fl.r > 0 && fl.r < 5000 {
				notes = append(notes, fmt.Sprintf("fill of cavity %d has a flow resistivity of %.1f kPa·s/m²; below 5 it does little", i+1, fl.r/1000))
			}
		}
	}
	for _, f0 := range p.ResonanceHz {
		if f0 >= 100 {
			notes = append(notes, fmt.Sprintf("mass-spring-mass resonance at %.0f Hz lies in the rated range", f0))
		}
	}
	if area := a.w * a.h; area < 1 {
		notes = append(notes, fmt.Sprintf("%.2g m² is a small panel: the diffuse field and the modes of so small a panel are not resolved", area))
	}
	if _, db := p.R.highest(); db > 75 {
		notes = append(notes, "values above about 75 dB are seldom reached: flanking and leaks of a real laboratory limit them")
	}
	return append(notes, a.bareNotes(p.RwDB)...)
}

// porousBlock is the density in kg/m³ below which masonry is porous unless plastered: lightweight aggregate and aircrete. Source of the 5 to
// 10 dB: archived page of a retired researcher of the National Research Council of Canada.
const porousBlock = 1500

// poresOpen is the density of a masonry leaf that is porous and has no plaster, 0 for all others.
func (l *leaf) poresOpen() float64 {
	rho := 0.0
	for _, p := range l.plates {
		for _, q := range p.plies {
			if q.kind == "plaster" {
				return 0
			}
			if q.kind == "masonry" && q.density() < porousBlock {
				rho = q.density()
			}
		}
	}
	return rho
}

// bareNotes compares a lined heavy element with the element alone: a lining may make it worse, and then says so.
func (a *assembly) bareNotes(rw int) []string {
	bare, _, ok := a.bareHeavy()
	if !ok {
		return nil
	}
	if rw < bare {
		return []string{fmt.Sprintf("the lining makes the wall worse: R_w %d dB against %d dB bare", rw, bare)}
	}
	return []string{fmt.Sprintf("the heavy element alone is calculated at R_w %d dB", bare)}
}

// bareHeavy is R_w of the first heavy leaf by itself and its place, where there are other leaves.
func (a *assembly) bareHeavy() (rw, place int, ok bool) {
	if len(a.leaves) < 2 {
		return 0, 0, false
	}
	for i := range a.leaves {
		if !a.leaves[i].heavy {
			continue
		}
		bare := assembly{leaves: a.leaves[i : i+1], w: a.w, h: a.h, fit: a.fit}
		r, err := RateAirborne(reduction(bare.transmission()))
		return r.Value, i, err == nil
	}
	return 0, 0, false
}

// simplifiedLining is R_w of a heavy element with one or two linings by ISO 12354-1:2017 Annex D, each f0 that of the stack.
func (a *assembly) simplifiedLining() (rw float64, ok bool) {
	bare, place, ok := a.bareHeavy()
	if !ok || a.family() != familyLining || bare < 20 || bare > 60 {
		return 0, false
	}
	var delta []float64
	for i := range a.springs {
		if i != place-1 && i != place || a.springs[i].mat > 0 {
			return 0, false
		}
		delta = append(delta, LiningImprovement(a.resonance(i), float64(bare)))
	}
	sum := delta[0]
	if len(delta) == 2 {
		sum = TwoLinings(delta[0], delta[1])
	}
	return float64(bare) + sum, true
}

// thinUpTo is the frequency in Hz where the thickest plate of the leaf is a sixth of its bending wavelength.
//
//	λ_B = c0/√(f f_c) = 6 h  gives  f = (c0/(6 h))²/f_c
func (l *leaf) thinUpTo() float64 {
	f := math.Inf(1)
	for _, p := range l.plates {
		f = min(f, math.Pow(c0/(6*p.h), 2)/CriticalFrequency(p.mass, p.b))
	}
	return f
}

// highest is the band with the largest value.
func (c Curve) highest() (hz int, db float64) {
	db = math.Inf(-1)
	for f, v := range c.All() {
		if v > db {
			hz, db = f, v
		}
	}
	return hz, db
}

// has reports whether a layer of the kind is there.
func (b BuildUp) has(kind string) bool {
	for _, l := range b.Layers {
		if l.Kind() == kind {
			return true
		}
	}
	return false
}

// membraneNote says at which temperature membranes are calculated.
func (b BuildUp) membraneNote() string {
	for _, l := range b.Layers {
		if m, ok := plain(l.Element).(Membrane); ok && m.Polymer != nil && m.Celsius != nil {
			return "the membrane is calculated at " + number(*m.Celsius) + " °C; a laboratory tests at about 20 °C"
		}
	}
	return "membranes are calculated at room temperature, 20 °C; their stiffness and damping change strongly with it"
}

// orderNotes says where a floor looks as if it were given from above: its layers go from below upward.
func (b BuildUp) orderNotes() []string {
	for i, l := range b.Layers[:len(b.Layers)-1] {
		above := b.Layers[i+1]
		switch {
		case l.Kind() == "soft_covering":
			return []string{"layers of a floor go from below upward: here a soft covering lies under other layers, where it softens nothing"}
		case l.Kind() == "screed" && above.Kind() == "resilient_mat", l.Kind() == "resilient_mat" && above.Kind() == "concrete":
			return []string{"layers of a floor go from below upward: here a mat lies on a screed or under a slab; check the order"}
		}
	}
	return nil
}
