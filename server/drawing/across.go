package drawing

import "math"

// across lays out a ceiling, soffit or floor: numbers in a column at the left, the room below or above.
func (l *layout) across() {
	floor := l.section.Kind == Floor
	n := len(l.section.Existing) + len(l.section.Layers)
	room := math.Max(150, math.Min(230, 0.48*l.width))
	if need := float64(n) * 17; need > room {
		room = math.Min(need, 330)
	}
	l.bands, l.perMM = l.section.bands(room)
	deep := 0.0
	if k := len(l.bands); k > 0 {
		deep = l.bands[k-1].to
	}
	labels := l.labels(10)
	if floor {
		l.roomLine(Point{0, -1}, margin)
	} else if len(l.section.Existing) > 0 {
		l.words(RoleContext, Point{margin, l.y + l.size - 2}, Start, Ink, false, "existing")
		l.y += l.size + 6
	}
	top := l.y
	need := math.Max(deep, math.Min(float64(n)*slot, deep+2*slot))
	top += (need - deep) / 2
	want := make([]float64, len(labels))
	for i, b := range labels {
		want[i] = top + b.at.t
		if floor {
			want[len(labels)-1-i] = top + deep - b.at.t
		}
	}
	got, rows := spread(want, slot, l.y+bubble, math.Max(l.y+bubble, l.y+need-bubble))
	left := margin + float64(rows)*slot + leader
	long := l.width - left - margin - endStrip
	p := straight{Point{left, top}, Point{0, 1}, Point{1, 0}, long}
	if floor {
		p = straight{Point{left, top + deep}, Point{0, -1}, Point{1, 0}, long}
	}
	l.draw(p)
	for i, b := range labels {
		at := i
		if floor {
			at = len(labels) - 1 - i
		}
		x := margin + bubble + float64(at%rows)*slot
		end := p.at(b.at.t, b.at.s)
		l.point(b, Point{x + bubble, got[at]}, Point{margin + float64(rows)*slot - 2, got[at]}, Point{left - 3, end.Y}, end)
		l.tag(Point{x, got[at]}, b)
	}
	l.y += need + 5
	if !floor {
		l.roomLine(Point{0, 1}, left)
	} else if len(l.section.Existing) > 0 {
		l.words(RoleContext, Point{margin, l.y + l.size}, Start, Ink, false, "existing")
		l.y += l.size + 6
	}
}

// roomLine names the room above a floor or below a ceiling, with an arrow that points at it.
func (l *layout) roomLine(way Point, left float64) {
	left = math.Max(left, margin+slot+leader)
	base := l.y + l.size - 1
	l.add(arrow(Point{left + 4, base - 4.5 - 4.5*way.Y}, way)...)
	l.words(RoleContext, Point{left + 14, base}, Start, Ink, false, shorten(l.section.room(), l.size, l.width-left-14-margin))
	l.y += l.size + 8
}
