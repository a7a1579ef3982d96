package drawing

import (
	"math"
	"strconv"
)

// Measures of the page, in drawing units.
const (
	margin     = 6.0
	slot       = 21.0 // a number and the space round it
	bubble     = 9.0  // radius
	leader     = 16.0 // from the last row of numbers to the section
	narrowest  = 120.0
	lineHeight = 1.32
)

// layout is the drawing in the making.
type layout struct {
	section Section
	width   float64
	size    float64 // of words
	shapes  []Shape
	bands   []band
	perMM   float64
	y       float64 // how far down the drawing has come

	left, right     float64 // where words may run
	column, noteTop float64 // the notes' own column beside a narrow drawing, 0 where they stand beneath
}

// Shapes lays the section out for the width, in units of 1/96 inch, and says how high it became. Every renderer draws this list.
func (s Section) Shapes(width float64) (shapes []Shape, height float64) {
	if math.IsNaN(width) || width < narrowest {
		width = narrowest
	}
	l := &layout{section: s, width: width, size: 12.5, y: margin, left: margin, right: width - margin}
	if width >= 520 {
		l.size = 13
	}
	switch {
	case s.surrounds():
		l.round()
	case len(s.Existing) == 0 && len(s.Layers) == 0:
		l.blank()
	case s.Kind == Ceiling || s.Kind == Soffit || s.Kind == Floor:
		l.across()
	default:
		l.upright()
	}
	if l.column > 0 {
		l.right = l.column - 12
	}
	l.scaleBar()
	low := l.y
	if l.column > 0 {
		l.left, l.right, l.y = l.column, width-margin, l.noteTop
	}
	l.notes()
	return l.shapes, math.Ceil(math.Max(l.y, low) + margin)
}

// beside lets the notes stand beside the drawing where it leaves them room enough, so that a page is not half empty.
func (l *layout) beside(edge, top float64) {
	const enough = 180
	if column := math.Max(edge+28, 0.5*l.width); l.width-margin-column >= enough {
		l.column, l.noteTop = column, top-8
	}
}

// blank is the drawing of a surface of which nothing is known yet.
func (l *layout) blank() {
	const high = 40
	left, right := margin, l.width-margin
	l.add(Shape{Form: Polygon, Role: RoleContext, Stroke: Line, Width: 1, Dash: missing,
		Points: []Point{{left, l.y}, {right, l.y}, {right, l.y + high}, {left, l.y + high}}})
	l.y += high
}

func (l *layout) add(s ...Shape) { l.shapes = append(l.shapes, s...) }

func (l *layout) words(role Role, at Point, anchor Anchor, tone Tone, bold bool, text string) {
	l.add(Shape{Form: Words, Role: role, Points: []Point{at}, Fill: tone, Text: text, Size: l.size, Bold: bold, Anchor: anchor})
}

// draw puts the slabs down, dashed ones first, so that a solid edge is never hidden by its neighbour's dashes.
func (l *layout) draw(p place) {
	for _, solid := range []bool{false, true} {
		for _, b := range l.bands {
			if (up(b.slab) && !b.removed) == solid {
				pen{p, b.id, &l.shapes}.draw(b)
			}
		}
	}
	for _, layer := range l.section.Layers {
		if i := layer.Within; i > 0 && i <= len(l.section.Existing) {
			l.within(p, layer, l.bands[i-1])
		}
	}
	for _, b := range l.bands {
		if b.broken {
			at := 0.5
			if l.filled(b.id) || b.slab.Fill != nil {
				at = 0.82 // beside the wool, where it can be told from it
			}
			pen{p, b.id, &l.shapes}.breakLine(b, at)
		}
	}
}

// within draws a layer that is laid into a slab of the existing structure.
func (l *layout) within(p place, layer Slab, into band) {
	inner := into
	inner.from++
	inner.to--
	if depth := into.slab.ThicknessMM; known(depth) && known(layer.ThicknessMM) {
		inner.to = inner.from + inner.size()*math.Min(1, layer.ThicknessMM/depth)
	}
	in := pen{p, strconv.Itoa(layer.Number), &l.shapes}
	r := patch{inner.from, inner.to, 3, p.length() - 3}
	s := layer
	s.Hatch = Air // the wool is drawn as a fill, so that what is missing of it shows
	if up(s) || s.State == Delivered {
		fill := Fill{ThicknessMM: layer.ThicknessMM}
		if layer.Fill != nil {
			fill = *layer.Fill
		}
		part := r
		if s.State == PartInstalled {
			part.s1 = r.s0 + share(s.Share)*(r.s1-r.s0)
		}
		in.fill(fill, layer.ThicknessMM, part, nil)
	}
	dash := []float64(nil)
	if !up(s) {
		dash = dashed
	}
	in.area(RoleSlab, None, Ink, 1, dash, r.corners()...)
	in.frame(Slab{Frame: into.slab.Frame, Resilient: into.slab.Resilient, FrameInward: into.slab.FrameInward},
		patch{into.from, into.to, 0, p.length()}, nil)
	r.s1 = p.length() // marks stand beyond the surface's end, like those of any layer
	in.state(s, r)
	in.defects(s, r)
}
