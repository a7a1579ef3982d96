package drawing

import (
	"fmt"
	"math"
	"sort"
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
	for _, line := range wrap(text, l.size, l.right-left) {
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
		l.paragraph(RoleNote, Ink, l.left, "The existing structure is not recorded.")
	}
	for i, e := range s.Existing {
		l.note(Letter(i), "", Ink, describe(e))
	}
	if len(s.Layers) == 0 {
		l.paragraph(RoleNote, Ink, l.left, "No layers are specified.")
	}
	remarks := l.states()
	if s.Key {
		remarks = l.key()
	}
	for _, layer := range s.Layers {
		for _, d := range layer.Defects {
			remarks = append(remarks, remark{[]int{layer.Number}, MarkFailed, Stop, d.words()})
		}
		if layer.Fill != nil && layer.Fill.Missing > 0 && !has(layer, MissingFill) {
			text := fmt.Sprintf("wool missing over %.0f %%", share(layer.Fill.Missing)*100)
			remarks = append(remarks, remark{[]int{layer.Number}, MarkFailed, Stop, text})
		}
	}
	sort.SliceStable(remarks, func(i, j int) bool { return remarks[i].numbers[0] < remarks[j].numbers[0] })
	for _, r := range remarks {
		l.note(ranges(r.numbers), r.mark, r.tone, r.text)
	}
}

// remark is what is said of one layer or of several alike.
type remark struct {
	numbers []int
	mark    Mark
	tone    Tone
	text    string
}

// key lists every layer with thickness and state.
func (l *layout) key() []remark {
	var out []remark
	for _, layer := range l.section.Layers {
		parts := []string{describe(layer)}
		if layer.State != "" {
			parts = append(parts, stateOf(layer))
		}
		if place := l.place(layer); place != "" {
			parts = append(parts, place)
		}
		mark, tone := layer.State.mark()
		out = append(out, remark{[]int{layer.Number}, mark, tone, strings.Join(parts, ", ")})
	}
	return out
}

// states says only what is out of the ordinary, layers of the same state together.
func (l *layout) states() []remark {
	var out []remark
	at := map[string]int{}
	for _, layer := range l.section.Layers {
		text := l.noteText(layer)
		if text == "" {
			continue
		}
		i, ok := at[text]
		if !ok {
			mark, tone := layer.State.mark()
			i = len(out)
			at[text] = i
			out = append(out, remark{nil, mark, tone, text})
		}
		out[i].numbers = append(out[i].numbers, layer.Number)
	}
	return out
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
	case PartInstalled, Ready, CoveredUnseen, ToPutRight, PutRight, Disputed:
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
	indent := l.left + math.Max(18, textWidth(id, l.size, true)+6)
	l.words(RoleNote, Point{l.left, l.y + l.size*lineHeight - 3}, Start, Ink, true, id)
	l.shapes[len(l.shapes)-1].Slab = id
	if mark != "" {
		l.add(mark.Shapes(Point{indent, l.y + l.size*lineHeight - 3 - 10.5}, 12)...)
		indent += 17
	}
	l.paragraph(RoleNote, tone, indent, text)
}
