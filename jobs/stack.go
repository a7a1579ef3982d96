package jobs

import (
	"fmt"
	"slices"

	"tacet/acoustics"
)

// basis is which of the states of a surface is predicted.
type basis int

const (
	asSpecified basis = iota
	asInstalled
	asFound
)

// partition is everything between two rooms, ready to be calculated.
type partition struct {
	acoustics.BuildUp
	notes  []string
	spread float64 // what is not known of it, as a variance in dB², on top of the model's own
}

// Our own figures for what no published value exists for: a layer that was covered unseen, and a failed check whose effect
// is not known. They widen; they never shift a prediction.
const (
	unseenSpreadDB  = 1.0
	unknownSpreadDB = 2.0
)

// cannot says why something is not predicted; it is no error of anybody's.
type cannot string

func (c cannot) Error() string { return string(c) }

// partitionOf puts together what stands between the rooms of a surface: its structure with what is added on both sides,
// or what exists and what is added. Floors and ceilings run from below upward.
func (j *Job) partitionOf(s *Surface, b basis) (partition, error) {
	if s.Kind.Along() {
		return partition{}, cannot("no level difference is predicted for a " + string(s.Kind) + ": what reaches the room depends on what runs inside")
	}
	p := partition{BuildUp: acoustics.BuildUp{Surface: string(s.Kind), WidthM: value(s.WidthM), HeightM: value(s.HeightM)}}
	st := j.Structure(s.Structure)
	if st == nil {
		existing := worked(s.Existing, []*Surface{s}, b)
		added, err := p.added(j, s, b)
		if err != nil {
			return p, err
		}
		p.Layers = append(existing, added...)
		if s.Kind.Overhead() {
			slices.Reverse(p.Layers)
		}
		return p, p.locate(j, []*Surface{s}, b)
	}
	on := j.On(st)
	var sides [3][]acoustics.Layer
	for _, o := range on {
		if o.Kind == Floor || o.Kind.Overhead() {
			p.Surface = string(Floor)
		}
		if o.Side < 1 || o.Side > 2 || len(sides[o.Side]) > 0 {
			if o != s {
				p.notes = append(p.notes, "surface "+o.Code+" lies on the same side and is left out")
			}
			continue
		}
		if o != s && o.Side == s.Side {
			continue
		}
		added, err := p.added(j, o, b)
		if err != nil {
			return p, err
		}
		sides[o.Side] = added
	}
	slices.Reverse(sides[1])
	p.Layers = slices.Concat(sides[1], worked(st.Existing, on, b), sides[2])
	return p, p.locate(j, on, b)
}

// worked is the existing structure after the work inside it: wool laid in, layers taken away.
func worked(existing []acoustics.Layer, on []*Surface, b basis) []acoustics.Layer {
	out := slices.Clone(existing)
	gone := map[int]bool{}
	for _, s := range on {
		for _, l := range s.Layers {
			n := workOnExisting(l.Specified)
			if n < 1 || n > len(out) || b != asSpecified && l.Share < 1-shareSlack {
				continue
			}
			switch e := l.Specified.Element.(type) {
			case FillExisting:
				if c, ok := out[n-1].Element.(acoustics.Cavity); ok {
					c.Fill = e.Fill
					out[n-1] = acoustics.Layer{Element: c}
				}
			case RemoveExisting:
				gone[n-1] = true
			}
		}
	}
	var left []acoustics.Layer
	for i, l := range out {
		if !gone[i] {
			left = append(left, l)
		}
	}
	return left
}

// added lists the layers that a surface adds: all that is specified, or what is in place with what was fitted.
func (p *partition) added(j *Job, s *Surface, b basis) ([]acoustics.Layer, error) {
	var out []acoustics.Layer
	missing := 0
	for _, l := range s.Layers {
		if b == asSpecified {
			if workOnExisting(l.Specified) == 0 {
				out = append(out, l.Specified)
			}
			continue
		}
		if l.CoveredUnseen {
			p.spread += unseenSpreadDB * unseenSpreadDB
			p.notes = append(p.notes, fmt.Sprintf("layer %d of %s was covered unseen: the spread is widened by %.0f dB (our own figure)", l.N, s.Code, unseenSpreadDB))
		}
		if l.Share == 0 && missing == 0 {
			missing = l.N
		}
		if workOnExisting(l.Specified) > 0 || l.Share == 0 {
			continue
		}
		if missing > 0 {
			return nil, cannot(fmt.Sprintf("layer %d of %s is in place and layer %d is not recorded: no prediction until it is", l.N, s.Code, missing))
		}
		if l.Share < 1-shareSlack {
			return nil, cannot(fmt.Sprintf("layer %d of %s covers %s: no prediction until it is complete", l.N, s.Code, percent(l.Share)))
		}
		out = append(out, fittedLayer(l))
	}
	if missing > 0 && missing <= len(s.Layers) && started(s) {
		p.notes = append(p.notes, fmt.Sprintf("%s is not finished: from layer %d on nothing is in place", s.Code, missing))
	}
	return out, nil
}

// fittedLayer is the layer with the mass and thickness that were fitted.
func fittedLayer(l *Layer) acoustics.Layer {
	mass, thickness := l.InstalledMass, l.thickness()
	switch e := l.Now.Element.(type) {
	case acoustics.Board:
		e.Mass, e.Thickness = mass, thickness
		return acoustics.Layer{Element: e}
	case acoustics.Membrane:
		e.Mass, e.Thickness = mass, thickness
		return acoustics.Layer{Element: e}
	case acoustics.Mat:
		e.Mass, e.Thickness = mass, thickness
		return acoustics.Layer{Element: e}
	case acoustics.LooseFill:
		e.Mass, e.Thickness = mass, thickness
		return acoustics.Layer{Element: e}
	}
	return l.Now
}

// locate turns the faults that checks found into what the calculation knows: an open perimeter is a slit in its leaf.
// Where no published value exists for a fault, the spread widens and a note says so.
func (p *partition) locate(j *Job, on []*Surface, b basis) error {
	if b != asFound {
		return nil
	}
	for _, s := range on {
		for _, c := range s.Checks {
			for _, h := range c.Heads {
				d := h.What.(*CheckResult)
				if d.Result != Fail || j.cure(h) != nil {
					continue
				}
				gap, sized := d.Measured["gap_mm"]
				leaf, depth := p.leafOf(s, c.Layer, on)
				if (c.Rule.Code == "K23" || c.Rule.Code == "K28") && sized && gap > 0 && leaf > 0 {
					length, ok := d.Measured["length_m"]
					if !ok || length == 0 {
						length = s.PerimeterM()
						p.notes = append(p.notes, c.Rule.Code+" on layer "+itoa(c.Layer)+": length not measured, the whole perimeter is taken")
					}
					p.Gaps = append(p.Gaps, acoustics.Gap{Leaf: leaf, LengthM: length, WidthMM: gap, DepthMM: depth})
					p.notes = append(p.notes, fmt.Sprintf("open perimeter of layer %d of %s: taken as a slit of %s mm by %s m through its leaf", c.Layer, s.Code, trim(gap), trim(length)))
					continue
				}
				p.spread += unknownSpreadDB * unknownSpreadDB
				p.notes = append(p.notes, fmt.Sprintf("%s failed (%s): its effect is not known; the spread is widened by %.0f dB (our own figure)", c.Rule.Code, c.Rule.Title, unknownSpreadDB))
			}
		}
	}
	return nil
}

// leafOf finds the leaf, counted from the first, that a layer of a surface belongs to, and its depth in mm; 0 when it is in
// none. Leaves are what cavities and resilient layers divide.
func (p *partition) leafOf(s *Surface, n int, on []*Surface) (leaf int, depth float64) {
	l := s.Layer(n)
	if l == nil || l.Share == 0 {
		return 0, 0
	}
	// The layer's place: count the layers in place before it on the way outward, then turn the count to this direction.
	before := 0
	for _, o := range s.Layers[:n-1] {
		if workOnExisting(o.Specified) == 0 && o.Share > 0 {
			before++
		}
	}
	count := 0
	for _, o := range s.Layers {
		if workOnExisting(o.Specified) == 0 && o.Share > 0 {
			count++
		}
	}
	at := len(p.Layers) - count + before
	if s.Side == 1 || s.Structure == "" && s.Kind.Overhead() {
		at = count - 1 - before
	}
	if at < 0 || at >= len(p.Layers) {
		return 0, 0
	}
	inLeaf := false
	for i, e := range p.Layers {
		divides := e.Role() == acoustics.RoleCavity || e.Role() == acoustics.RoleResilient
		if !divides && !inLeaf {
			leaf++
			depth = 0
		}
		inLeaf = !divides
		if inLeaf {
			depth += e.ThicknessMM()
		}
		if i == at && !inLeaf {
			return 0, 0
		}
		if i >= at && (i+1 == len(p.Layers) || p.Layers[i+1].Role() == acoustics.RoleCavity || p.Layers[i+1].Role() == acoustics.RoleResilient) {
			return leaf, depth
		}
	}
	return 0, 0
}
