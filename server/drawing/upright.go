package drawing

import "math"

// upright lays out a wall: left to right, numbers above.
func (l *layout) upright() {
	room := l.width - 2*margin - 12
	l.bands, l.perMM = l.section.bands(room)
	labels := l.labels(9)
	want := make([]float64, len(labels))
	for i, b := range labels {
		want[i] = margin + b.at.t
	}
	got, rows := spread(want, slot, margin+bubble, l.width-margin-bubble)
	top := l.y + float64(rows)*slot + leader
	long := math.Max(110, math.Min(165, 0.4*l.width))
	p := straight{Point{margin, top}, Point{1, 0}, Point{0, 1}, long}
	l.draw(p)
	for i, b := range labels {
		y := l.y + float64(i%rows)*slot + bubble
		elbow := l.y + float64(rows)*slot - 2
		end := p.at(b.at.t, b.at.s)
		l.point(b, Point{got[i], y + bubble}, Point{got[i], elbow}, Point{end.X, top - 3}, end)
		l.tag(Point{got[i], y}, b)
	}
	l.y = top + long + endStrip + l.size
	face := margin
	if n := len(l.bands); n > 0 {
		face += l.bands[n-1].to
	}
	edge := math.Max(face, l.caption(l.y-1, face))
	if n := len(got); n > 0 {
		edge = math.Max(edge, got[n-1]+bubble)
	}
	l.y += 6
	l.beside(edge, top)
}

// caption names both sides of a wall beneath it, the room with an arrow that points at it, and says where it ends.
func (l *layout) caption(y, face float64) float64 {
	text := shorten(l.section.room(), l.size, (l.width-2*margin)*0.62)
	long := textWidth(text, l.size, false)
	from := margin
	if len(l.section.Existing) > 0 {
		l.words(RoleContext, Point{margin, y}, Start, Ink, false, "existing")
		from += textWidth("existing", l.size, false) + 14
	}
	x := math.Min(l.width-margin-14, math.Max(face+long/3, from+long))
	l.words(RoleContext, Point{x, y}, End, Ink, false, text)
	l.add(arrow(Point{x + 5, y - 4.5}, Point{1, 0})...)
	return x + 14
}

// arrow is a short arrow that starts at the point.
func arrow(at, way Point) []Shape {
	tip := Point{at.X + 9*way.X, at.Y + 9*way.Y}
	side := Point{-way.Y, way.X}
	neck := Point{at.X + 4*way.X, at.Y + 4*way.Y}
	return []Shape{
		{Form: Path, Role: RoleContext, Points: []Point{at, neck}, Stroke: Ink, Width: 1.2},
		{Form: Polygon, Role: RoleContext, Fill: Ink, Points: []Point{tip,
			{neck.X + 3*side.X, neck.Y + 3*side.Y}, {neck.X - 3*side.X, neck.Y - 3*side.Y}}},
	}
}
