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
	asFinished // what is in place as it was fitted, the rest as it is to be now
)

// whole tells whether a basis takes what is not in place yet as done.
func (b basis) whole() bool { return b == asSpecified || b == asFinished }

// partition is everything between two rooms, ready to be calculated.
type partition struct {
	acoustics.BuildUp
	notes   []string
	spread  float64   // what is not known of it, as a variance in dB², on top of the model's own
	patches []patch   // parts of the area where it is built otherwise
	unknown []*Record // faults whose effect is not known
	kept    []int     // place of each existing layer among Layers, -1 where it was taken away
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

// NoExisting is the note of a prediction of what is added alone.
const NoExisting = "no existing structure is recorded: predicted as if nothing stood there"

// partitionOf puts together what stands between the rooms of a surface: its structure with what is added on both sides,
// or what exists and what is added. Floors and ceilings run from below upward.
// Faults that without names are left out.
func (j *Job) partitionOf(s *Surface, b basis, without ...*Record) (partition, error) {
	if s.Kind.Along() {
		return partition{}, cannot("no level difference is predicted for a " + words(string(s.Kind)) + ": what reaches the room depends on what runs inside")
	}
	p := partition{BuildUp: acoustics.BuildUp{Surface: string(s.Kind), WidthM: value(s.WidthM), HeightM: value(s.HeightM)}}
	if len(j.existing(s)) == 0 {
		p.notes = append(p.notes, NoExisting)
	}
	st := j.Structure(s.Structure)
	if st == nil {
		existing, kept := worked(s.Existing, []*Surface{s}, b)
		added, err := p.added(j, s, b)
		if err != nil {
			return p, err
		}
		p.Layers, p.kept = append(existing, added...), kept
		if s.Kind.Overhead() {
			slices.Reverse(p.Layers)
			for i, at := range p.kept {
				if at >= 0 {
					p.kept[i] = len(p.Layers) - 1 - at
				}
			}
		}
		p.locate(j, []*Surface{s}, b, without)
		return p, nil
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
	existing, kept := worked(st.Existing, on, b)
	for i, at := range kept {
		if at >= 0 {
			kept[i] = at + len(sides[1])
		}
	}
	p.Layers, p.kept = slices.Concat(sides[1], existing, sides[2]), kept
	p.locate(j, on, b, without)
	return p, nil
}

// worked is the existing structure after the work inside it: wool laid in, layers taken away; and where each of its
// layers stands then.
func worked(existing []acoustics.Layer, on []*Surface, b basis) (left []acoustics.Layer, kept []int) {
	out := slices.Clone(existing)
	gone := map[int]bool{}
	for _, s := range on {
		for _, l := range s.Layers {
			n := workOnExisting(l.Specified)
			if n < 1 || n > len(out) || !b.whole() && !l.Whole() {
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
	for i, l := range out {
		if gone[i] {
			kept = append(kept, -1)
			continue
		}
		kept = append(kept, len(left))
		left = append(left, l)
	}
	return left, kept
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
		if b == asFinished {
			if workOnExisting(l.Specified) > 0 {
				continue
			}
			if !l.Whole() {
				out = append(out, l.Now)
			} else {
				out = append(out, fittedLayer(l))
			}
			continue
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
		if !l.Whole() {
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
	return acoustics.Layer{Element: l.Now.Weighed(l.InstalledMass, l.thickness())}
}
