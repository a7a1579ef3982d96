package drawing

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

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
	if s.Key {
		l.key()
	} else {
		l.states()
	}
	for _, layer := range s.Layers {
		id := strconv.Itoa(layer.Number)
		for _, d := range layer.Defects {
			l.note(id, MarkFailed, Stop, d.words())
		}
		if layer.Fill != nil && layer.Fill.Missing > 0 && !has(layer, MissingFill) {
			l.note(id, MarkFailed, Stop, fmt.Sprintf("wool missing over %.0f %%", share(layer.Fill.Missing)*100))
		}
	}
}

// key lists every layer with thickness and state.
func (l *layout) key() {
	for _, layer := range l.section.Layers {
		parts := []string{describe(layer)}
		if layer.State != "" {
			parts = append(parts, stateOf(layer))
		}
		if place := l.place(layer); place != "" {
			parts = append(parts, place)
		}
		mark, tone := layer.State.mark()
		l.note(strconv.Itoa(layer.Number), mark, tone, strings.Join(parts, ", "))
	}
}

// states says only what is out of the ordinary, layers of the same state together.
func (l *layout) states() {
	var order []string
	numbers := map[string][]int{}
	states := map[string]State{}
	for _, layer := range l.section.Layers {
		text := l.noteText(layer)
		if text == "" {
			continue
		}
		if _, ok := numbers[text]; !ok {
			order = append(order, text)
			states[text] = layer.State
		}
		numbers[text] = append(numbers[text], layer.Number)
	}
	for _, text := range order {
		mark, tone := states[text].mark()
		l.note(ranges(numbers[text]), mark, tone, text)
	}
}

// ranges writes numbers short: 1 to 4, 7, 9 and 10 becomes "1–4, 7, 9–10".
func ranges(numbers []int) string {
	var parts []string
	for i := 0; i < len(numbers); {
		j := i
		for j+1 < len(numbers) && numbers[j+1] == numbers[j]+1 {
			j++
		}
		part := strconv.Itoa(numbers[i])
		if j > i {
			part += "–" + strconv.Itoa(numbers[j])
		}
		parts = append(parts, part)
		i = j + 1
	}
	return strings.Join(parts, ", ")
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
