package drawing

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"
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
}

// Shapes lays the section out for the width, in units of 1/96 inch, and says how high it became. Every renderer draws this list.
func (s Section) Shapes(width float64) (shapes []Shape, height float64) {
	if math.IsNaN(width) || width < narrowest {
		width = narrowest
	}
	l := &layout{section: s, width: width, size: 12.5, y: margin}
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
	l.scaleBar()
	l.notes()
	return l.shapes, math.Ceil(l.y + margin)
}

// surrounds tells whether the layers go round a member, which then is the existing structure.
func (s Section) surrounds() bool { return s.Kind == PipeRun || s.Kind == Boxing || s.Kind == Beam }

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
			t = b.from + 0.85*b.size() // clear of the wool that is laid into it
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
	l.y = top + long + endStrip
	end := margin
	if n := len(l.bands); n > 0 {
		end += l.bands[n-1].to
	}
	l.y += l.size
	l.caption(l.y-1, end)
	l.y += 6
}

// caption names both sides of a wall beneath it, the room with an arrow that points at it.
func (l *layout) caption(y, face float64) {
	half := (l.width - 2*margin) * 0.62
	text := shorten(l.section.room(), l.size, half)
	x := math.Min(l.width-margin, math.Max(face+textWidth(text, l.size, false)/2, margin+half)) - 14
	l.words(RoleContext, Point{x, y}, End, Ink, false, text)
	l.add(arrow(Point{x + 5, y - 4.5}, Point{1, 0})...)
	if len(l.section.Existing) > 0 {
		l.words(RoleContext, Point{margin, y}, Start, Ink, false, "existing")
	}
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
	l.y += need
	l.roomLine(Point{0, 1}, margin)
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

// scaleBar is the measure in mm, and what is not drawn to it.
func (l *layout) scaleBar() {
	l.y += 8
	mm := barMM(l.perMM)
	anyKnown := false
	for _, b := range l.bands {
		anyKnown = anyKnown || known(b.slab.ThicknessMM)
	}
	if mm > 0 && anyKnown {
		long := mm * l.perMM
		y := l.y + 8
		const cells = 5
		for i := range cells {
			x := margin + float64(i)*long/cells
			fill := Paper
			if i%2 == 0 {
				fill = Ink
			}
			l.add(Shape{Form: Polygon, Role: RoleScale, Fill: fill, Stroke: Ink, Width: hair,
				Points: []Point{{x, y - 4}, {x + long/cells, y - 4}, {x + long/cells, y}, {x, y}}})
		}
		l.words(RoleScale, Point{margin + long + 6, y + 1}, Start, Ink, false, strconv.FormatFloat(mm, 'f', -1, 64)+" mm")
		l.y += 16
	}
	if text := l.offScale(); text != "" {
		l.paragraph(RoleScale, Line, margin, text)
	}
}

// offScale says which slabs are not drawn to scale.
func (l *layout) offScale() string {
	var thick, broken, unknown []string
	for _, b := range l.bands {
		switch {
		case !known(b.slab.ThicknessMM):
			unknown = append(unknown, b.id)
		case b.thick:
			thick = append(thick, b.id)
		case b.broken:
			broken = append(broken, b.id)
		}
	}
	var parts []string
	say := func(ids []string, words string) {
		if len(ids) > 0 {
			parts = append(parts, list(ids)+" "+words)
		}
	}
	say(thick, "drawn thicker")
	say(broken, "drawn shorter")
	say(unknown, "of unknown thickness")
	if l.section.surrounds() {
		parts = append(parts, "the "+l.memberWord())
	}
	if len(parts) == 0 {
		return ""
	}
	return "Not to scale: " + strings.Join(parts, "; ") + "."
}

func list(ids []string) string {
	if len(ids) < 2 {
		return strings.Join(ids, "")
	}
	return strings.Join(ids[:len(ids)-1], ", ") + " and " + ids[len(ids)-1]
}

// paragraph sets wrapped lines from the left edge given and moves down.
func (l *layout) paragraph(role Role, tone Tone, left float64, text string) {
	for _, line := range wrap(text, l.size, l.width-left-margin) {
		l.y += l.size * lineHeight
		l.words(role, Point{left, l.y - 3}, Start, tone, false, line)
	}
}

// notes says beneath the drawing what the existing structure is, what state is out of the ordinary and what was found, each with
// the number it belongs to.
func (l *layout) notes() {
	l.y += 4
	s := l.section
	if len(s.Existing) == 0 && !s.surrounds() {
		l.paragraph(RoleNote, Ink, margin, "The existing structure is not recorded.")
	}
	for i, e := range s.Existing {
		l.note(Letter(i), "", Ink, describe(e))
	}
	if len(s.Layers) == 0 {
		l.paragraph(RoleNote, Ink, margin, "No layers are specified.")
	}
	for _, layer := range s.Layers {
		id := strconv.Itoa(layer.Number)
		mark, tone := layer.State.mark()
		text := l.noteText(layer)
		if s.Key {
			parts := []string{describe(layer)}
			if layer.State != "" {
				parts = append(parts, stateOf(layer))
			}
			if extra := l.place(layer); extra != "" {
				parts = append(parts, extra)
			}
			text = strings.Join(parts, ", ")
		}
		if text != "" {
			l.note(id, mark, tone, text)
		}
		for _, d := range layer.Defects {
			if d.Words != "" {
				l.note(id, MarkFailed, Stop, d.Words)
			}
		}
		if layer.Fill != nil && layer.Fill.Missing > 0 && !has(layer, MissingFill) {
			l.note(id, MarkFailed, Stop, fmt.Sprintf("wool missing over %.0f %%", share(layer.Fill.Missing)*100))
		}
	}
}

// noteText is what must be said of a layer even where a list of layers stands beside the drawing.
func (l *layout) noteText(layer Slab) string {
	var parts []string
	if place := l.place(layer); place != "" {
		parts = append(parts, describe(layer)+", "+place)
	}
	switch layer.State {
	case PartInstalled, Ready, CoveredUnseen, ToPutRight, PutRight, Disputed, Withdrawn:
		parts = append(parts, stateOf(layer))
	}
	return strings.Join(parts, ", ")
}

// place says where a layer lies that adds no thickness.
func (l *layout) place(layer Slab) string {
	switch {
	case layer.Within > 0 && layer.Within <= len(l.section.Existing):
		return "laid into " + Letter(layer.Within-1)
	case layer.Removes > 0 && layer.Removes <= len(l.section.Existing):
		return "takes " + Letter(layer.Removes-1) + " away"
	case layer.Within > 0 || layer.Removes > 0:
		return "in the existing structure, which is not recorded"
	}
	return ""
}

// note is one line beneath the drawing: number, mark, words.
func (l *layout) note(id string, mark Mark, tone Tone, text string) {
	indent := margin + math.Max(18, textWidth(id, l.size, true)+6)
	l.words(RoleNote, Point{margin, l.y + l.size*lineHeight - 3}, Start, Ink, true, id)
	l.shapes[len(l.shapes)-1].Slab = id
	if mark != "" {
		l.add(mark.Shapes(Point{indent, l.y + l.size*lineHeight - 3 - 10.5}, 12)...)
		indent += 17
	}
	l.paragraph(RoleNote, tone, indent, text)
}
