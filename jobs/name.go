package jobs

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"tacet/acoustics"
)

// NameOf says in plain words what a layer is, thickness or depth included.
func NameOf(l acoustics.Layer) string {
	switch e := l.Element.(type) {
	case nil:
		return "nothing"
	case acoustics.Board:
		return materialOr(e.Material, words(e.Kind())) + " " + trim(e.Thickness) + " mm"
	case acoustics.Membrane:
		return materialOr(e.Material, "membrane") + " " + trim(e.Thickness) + " mm"
	case acoustics.Mat:
		return "resilient mat " + trim(e.Thickness) + " mm"
	case acoustics.Cavity:
		return nameOfCavity(e)
	case FillExisting:
		return "wool " + trim(e.Fill.ThicknessMM) + " mm into existing layer " + itoa(e.Existing)
	case RemoveExisting:
		return "take away existing layer " + itoa(e.Existing)
	}
	return words(l.Kind()) + " " + trim(l.ThicknessMM()) + " mm"
}

// Name says what the layer is made of now: [NameOf], with the firm's own name of a material of the firm.
func (l *Layer) Name() string {
	if l.swap != nil {
		return NameOf(l.Now)
	}
	return l.SpecifiedName()
}

// SpecifiedName is Name of what is specified, whatever took its place.
func (l *Layer) SpecifiedName() string {
	switch l.Specified.Element.(type) {
	case acoustics.Board, acoustics.Membrane, acoustics.Mat:
		if l.called != "" {
			return l.called + " " + trim(l.Specified.ThicknessMM()) + " mm"
		}
	}
	return NameOf(l.Specified)
}

func nameOfCavity(c acoustics.Cavity) string {
	name := "air gap"
	if f := c.Frame; f != nil {
		switch {
		case f.Resilient == "clip":
			name = "clip and channel"
		case f.Resilient == "bar":
			name = "resilient bar"
		case f.Kind != "none":
			name = NameOfFrame(f.Kind)
		}
	}
	name += " " + trim(c.Depth) + " mm"
	// The centres belong to what is framed: an air gap has none, whatever stands in the file.
	if f := c.Frame; f != nil && f.SpacingMM != nil && (f.Kind != "none" || f.Resilient != "") {
		name += " at " + trim(*f.SpacingMM) + " mm centres"
	}
	if c.Fill != nil {
		name += " with wool " + trim(c.Fill.ThicknessMM) + " mm"
	}
	return name
}

// Called is what a room goes by in lists, on forms and in tests: its code, and its name where it has one. Tests compare only where it is spelled alike.
func (r *Room) Called() string { return called(r.Code, r.Name) }

// Called is what a structure goes by in lists and on forms.
func (s *Structure) Called() string { return called(s.Code, s.Name) }

func called(code, name string) string { return strings.TrimSpace(code + " " + name) }

// NameOfFrame is what a kind of frame is called in a list of layers and on an order.
func NameOfFrame(kind string) string {
	if kind == "independent" {
		return "independent frame"
	}
	return words(kind)
}

func materialOr(id, otherwise string) string {
	if m, ok := acoustics.MaterialByID(id); ok {
		return m.Name
	}
	return otherwise
}

func words(s string) string { return strings.ReplaceAll(s, "_", " ") }

// Count writes a number of things: 1 layer, 2 layers; entries and the like have their ending too.
func Count(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	if stem, ok := strings.CutSuffix(one, "y"); ok && !strings.HasSuffix(one, "ay") {
		return itoa(n) + " " + stem + "ies"
	}
	return itoa(n) + " " + one + "s"
}

// Units is the word for a unit behind so many of it: 1 sheet, 6 sheets, 4.2 m.
func Units(n float64, unit string) string {
	last := strings.ToLower(unit[max(0, len(unit)-1):])
	switch {
	case n == 1, len(unit) < 3, last < "a", last > "z", last == "s":
		return unit
	case last == "x":
		return unit + "es"
	}
	return unit + "s"
}

// JoinWords lists words as people say them: one, two and three.
func JoinWords(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], ", ") + " and " + list[len(list)-1]
}

// Lower makes the first letter small, for a title within a sentence.
func Lower(s string) string { return firstLetter(s, unicode.ToLower) }

// Capital makes the first letter large, for words that begin a sentence.
func Capital(s string) string { return firstLetter(s, unicode.ToUpper) }

func firstLetter(s string, to func(rune) rune) string {
	r, size := utf8.DecodeRuneInString(s)
	if size == 0 || r == utf8.RuneError {
		return s
	}
	return string(to(r)) + s[size:]
}
