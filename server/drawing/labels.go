package drawing

import (
	"sort"
	"strconv"
)

// label is a number or letter and the place in the stack it points at.
type label struct {
	id    string
	layer bool
	at    stack
}

// labels are those of all slabs, inward first.
func (l *layout) labels(s float64) []label {
	var out []label
	for _, b := range l.bands {
		t := b.mid()
		if b.slab.Number == 0 && l.filled(b.id) {
			t = b.from + 0.68*b.size() // clear of the wool that is laid into it
		}
		out = append(out, label{b.id, b.slab.Number > 0, stack{t, s}})
	}
	for _, layer := range l.section.Layers {
		i := layer.Within + layer.Removes
		if i > 0 && i <= len(l.section.Existing) {
			b := l.bands[i-1]
			t := b.from + 0.8*b.size()
			if layer.Within > 0 {
				t = b.from + 0.25*b.size()
			}
			out = append(out, label{strconv.Itoa(layer.Number), true, stack{t, s}})
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].at.t < out[j].at.t })
	return out
}

// filled tells whether a layer is laid into the existing slab with this letter.
func (l *layout) filled(id string) bool {
	for _, layer := range l.section.Layers {
		if layer.Within > 0 && Letter(layer.Within-1) == id {
			return true
		}
	}
	return false
}

// tag draws a label's number: layers in a ring, as drawings number their parts, the existing structure's letters bare.
func (l *layout) tag(at Point, b label) {
	if b.layer {
		l.add(Shape{Form: Circle, Role: RoleLabel, Slab: b.id, Points: []Point{at}, Fill: Paper, Stroke: Ink, Width: 1, Radius: bubble})
	}
	l.add(Shape{Form: Words, Role: RoleLabel, Slab: b.id, Points: []Point{{at.X, at.Y + 4.3}}, Fill: Ink, Text: b.id,
		Size: 12, Bold: b.layer, Anchor: Middle})
}

func (l *layout) point(b label, run ...Point) {
	l.add(Shape{Form: Path, Role: RoleLabel, Slab: b.id, Points: run, Stroke: Ink, Width: hair})
	l.add(Shape{Form: Circle, Role: RoleLabel, Slab: b.id, Points: run[len(run)-1:], Fill: Paper, Stroke: Ink, Width: hair, Radius: 2})
}
