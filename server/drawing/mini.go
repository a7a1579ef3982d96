package drawing

// Measures of the miniature, in CSS pixels.
const (
	miniWidth  = 72.0
	miniHeight = 40.0
)

// Mini draws the section small enough for a row of a list, 72 by 40 pixels: slabs, materials and states, no words. Its title says
// what it is; the row says the rest.
func (s Section) Mini() []byte {
	return picture{width: miniWidth, height: miniHeight, shapes: s.SmallShapes(miniWidth, miniHeight), title: s.TitleWords(), class: "drawing-mini"}.svg()
}

// SmallShapes lays the section out without words, to fill a small place of a row or a label.
func (s Section) SmallShapes(width, height float64) []Shape {
	l := &layout{section: s, width: width}
	const edge, strip = 2.0, 11.0
	var p place
	switch s.Kind {
	case Ceiling, Soffit, Floor:
		l.bands, l.perMM = s.bands(height - 2*edge)
		p = straight{Point{edge, edge}, Point{0, 1}, Point{1, 0}, width - edge - strip}
		if s.Kind == Floor {
			p = straight{Point{edge, height - edge}, Point{0, -1}, Point{1, 0}, width - edge - strip}
		}
	case PipeRun, Boxing, Beam:
		const member = 5.0
		l.bands, l.perMM = s.bands(height/2 - edge - member)
		deep := 0.0
		if n := len(l.bands); n > 0 {
			deep = l.bands[n-1].to
		}
		centre := Point{width / 2, height / 2}
		p = box{centre, member, member, deep / 2}
		if s.Kind == PipeRun {
			p = ring{centre, member, deep / 2}
		}
		l.add(Shape{Form: Circle, Role: RoleContext, Points: []Point{centre}, Stroke: Ink, Width: 1, Radius: 3})
	default:
		l.bands, l.perMM = s.bands(width - 2*edge)
		p = straight{Point{edge, edge}, Point{1, 0}, Point{0, 1}, height - edge - strip}
	}
	l.draw(p)
	l.shapes = quieten(l.shapes, l.bands, p.closed())
	if len(l.bands) == 0 {
		l.add(Shape{Form: Polygon, Role: RoleContext, Stroke: Line, Width: 1, Dash: missing,
			Points: []Point{{edge, edge}, {width - edge, edge}, {width - edge, height - edge}, {edge, height - edge}}})
	}
	return l.shapes
}

// quieten takes the fine lines out of slabs that are too thin for them at this size, and makes every stroke finer. Where the
// surface runs round, marks would lie on the layers themselves: only what must be put right stays.
func quieten(shapes []Shape, bands []band, round bool) []Shape {
	thin := map[string]bool{}
	for _, b := range bands {
		thin[b.id] = b.size() < 7.5
	}
	kept := shapes[:0]
	for _, s := range shapes {
		if s.Role == RoleHatch && (s.Stroke == Line || s.Fill == Line) && thin[s.Slab] {
			continue
		}
		if round && s.Role == RoleMark && s.Stroke != Stop && s.Fill != Stop {
			continue
		}
		s.Width *= 0.7
		kept = append(kept, s)
	}
	return kept
}
