package drawing

import "math"

// surrounds tells whether the layers go round a member, which then is the existing structure.
func (s Section) surrounds() bool { return s.Kind == PipeRun || s.Kind == Boxing || s.Kind == Beam }

// round lays out what goes round a member: rings for a pipe, boxes for a beam or a stack, numbers in a column at the right.
func (l *layout) round() {
	across := math.Min(300, l.width-2*margin-2*slot-leader)
	member := 0.17 * across
	half := across/2 - endStrip/2
	l.bands, l.perMM = l.section.bands(math.Max(20, half-member))
	deep := 0.0
	if n := len(l.bands); n > 0 {
		deep = l.bands[n-1].to
	}
	half = member + deep
	labels := l.labels(0)
	need := math.Max(2*half, math.Min(float64(len(labels))*slot, 2*half+60)) + 4
	centre := Point{margin + 4 + half, l.y + need/2}
	middle := deep / 2
	var p place = ring{centre, member, middle}
	if l.section.Kind != PipeRun {
		p = box{centre, member, member, middle}
	}
	l.draw(p)
	l.member(centre, member)
	spot := 0.44 * p.length() // upper right, counted from where each begins
	if l.section.Kind != PipeRun {
		spot = 0.325 * p.length()
	}
	want := make([]float64, len(labels))
	for i, b := range labels {
		want[len(labels)-1-i] = p.at(b.at.t, spot).Y
	}
	column := centre.X + half + leader + slot
	got, rows := spread(want, slot, l.y+bubble, l.y+need-bubble)
	for i, b := range labels {
		at := len(labels) - 1 - i
		tagAt := Point{column + float64(at%rows)*slot, got[at]}
		end := p.at(b.at.t, spot)
		l.point(b, Point{tagAt.X - bubble, tagAt.Y}, Point{column - bubble - 4, tagAt.Y}, end)
		l.tag(tagAt, b)
	}
	top := l.y
	l.y += need
	l.roomLine(Point{0, 1}, margin)
	l.beside(column+float64(rows-1)*slot+bubble, top)
}

// member is what is wrapped: a pipe, a steel section, a stack in its box.
func (l *layout) member(c Point, half float64) {
	circle := func(r float64) {
		l.add(Shape{Form: Circle, Role: RoleContext, Points: []Point{c}, Stroke: Ink, Width: outline, Radius: r})
	}
	switch l.section.Kind {
	case PipeRun:
		circle(half)
	case Beam:
		h, w, f, t := half-3, 0.62*half, 0.16*half, 0.07*half
		run := []Point{{-w, -h}, {w, -h}, {w, -h + f}, {t, -h + f}, {t, h - f}, {w, h - f}, {w, h}, {-w, h}, {-w, h - f}, {-t, h - f}, {-t, -h + f}, {-w, -h + f}}
		for i := range run {
			run[i] = Point{c.X + run[i].X, c.Y + run[i].Y}
		}
		l.add(Shape{Form: Polygon, Role: RoleContext, Points: run, Fill: Ink})
		return
	default:
		circle(0.72 * half)
	}
	text := shorten(l.memberWord(), l.size, 1.3*half)
	l.words(RoleContext, Point{c.X, c.Y + 4}, Middle, Ink, false, text)
}

func (l *layout) memberWord() string {
	switch {
	case l.section.Member != "":
		return l.section.Member
	case l.section.Kind == PipeRun:
		return "pipe"
	case l.section.Kind == Beam:
		return "beam"
	}
	return "stack"
}
