package outcomes

import (
	"strconv"
	"strings"

	"tacet/acoustics"
	"tacet/jobs"
)

// Family is what build-ups have in common that are expected to behave alike: the element, how the lining is held off what
// exists, how many boards, whether a membrane lies between them, and what exists.
type Family struct {
	Code  string `json:"code"`  // such as C-clip-2m-joists
	Words string `json:"words"` // ceiling, on clips, 2 boards with a membrane, under timber joists

	Element    string `json:"element"`
	Decoupling string `json:"decoupling"`
	Boards     int    `json:"boards"`
	Membrane   bool   `json:"membrane"`
	Existing   string `json:"existing"`
}

// How a lining is held off what exists, the best decoupled first: a build-up with two of them goes by the first.
const (
	decIndependent = "independent"
	decClip        = "clip"
	decBar         = "bar"
	decFloating    = "floating"
	decFramed      = "framed"
	decBonded      = "bonded"
	decNone        = "none"
)

var decouplings = []struct{ code, words string }{
	{decIndependent, "independent"},
	{decClip, "on clips"},
	{decBar, "on resilient bars"},
	{decFloating, "floating on a mat"},
	{decFramed, "on a frame fixed to what exists"},
	{decBonded, "straight on what exists"},
	{decNone, "no boards added"},
}

var elements = map[jobs.SurfaceKind]struct{ letter, words string }{
	jobs.Wall: {"W", "wall"}, jobs.Ceiling: {"C", "ceiling"}, jobs.Floor: {"F", "floor"}, jobs.Soffit: {"S", "soffit"},
	jobs.Boxing: {"X", "boxing"}, jobs.PipeRun: {"P", "pipe run"}, jobs.Beam: {"B", "beam"},
}

// FamilyOf derives the family of a surface from its specified layers and what exists. Nothing of it is typed in, so one
// build-up can't be in two families by a slip of the pen.
func FamilyOf(kind jobs.SurfaceKind, specified, existing []acoustics.Layer) Family {
	e, ok := elements[kind]
	if !ok {
		e.letter, e.words = "U", "surface"
	}
	f := Family{Element: e.words, Decoupling: decNone, Existing: existingWord(existing)}
	rank := len(decouplings)
	note := func(dec string) {
		for i, d := range decouplings {
			if d.code == dec && i < rank {
				rank, f.Decoupling = i, dec
			}
		}
	}
	for _, l := range specified {
		switch el := l.Element.(type) {
		case jobs.FillExisting, jobs.RemoveExisting, nil:
		case acoustics.Cavity:
			note(decouplingOf(el))
		default:
			switch l.Role() {
			case acoustics.RoleMass:
				note(decBonded)
				if l.Kind() != "plaster" { // a skim is a finish
					f.Boards++
				}
			case acoustics.RoleLimp:
				f.Membrane = true
			case acoustics.RoleResilient:
				note(decFloating)
			}
		}
	}
	boards, membrane := strconv.Itoa(f.Boards), ""
	words := plural(f.Boards, "board", "boards")
	if f.Membrane {
		membrane, words = "m", words+" with a membrane"
	}
	f.Code = strings.Join([]string{e.letter, f.Decoupling, boards + membrane, existingCodes[f.Existing]}, "-")
	parts := []string{f.Element}
	for _, d := range decouplings {
		if d.code == f.Decoupling {
			parts = append(parts, d.words)
		}
	}
	if f.Boards > 0 || f.Membrane {
		parts = append(parts, words)
	}
	f.Words = strings.Join(append(parts, "existing: "+f.Existing), ", ")
	return f
}

func decouplingOf(c acoustics.Cavity) string {
	if c.Frame == nil {
		return decIndependent
	}
	switch {
	case c.Frame.Resilient == "clip":
		return decClip
	case c.Frame.Resilient == "bar":
		return decBar
	}
	switch c.Frame.Kind {
	case "timber_stud", "steel_stud", "joist":
		return decFramed
	}
	return decIndependent
}

// What exists, in words, with the last part of a family's code.
var existingCodes = map[string]string{
	"timber joists": "joists", "timber studs": "timberstuds", "steel studs": "steelstuds", "masonry": "masonry", "concrete": "concrete",
	"timber": "timber", "something else": "else", "not known": "unknown",
}

// existingWord names what exists by its framing, else by its heaviest layer.
func existingWord(layers []acoustics.Layer) string {
	heaviest, mass := "not known", -1.0
	for _, l := range layers {
		if l.Element == nil {
			continue
		}
		if c, ok := l.Element.(acoustics.Cavity); ok {
			if c.Frame != nil {
				switch c.Frame.Kind {
				case "joist":
					return "timber joists"
				case "timber_stud", "staggered_stud", "twin_frame":
					return "timber studs"
				case "steel_stud":
					return "steel studs"
				}
			}
			continue
		}
		if m := l.MassKgM2(); m > mass {
			mass = m
			switch l.Kind() {
			case "masonry", "concrete":
				heaviest = l.Kind()
			case "timber_panel":
				heaviest = "timber"
			default:
				heaviest = "something else"
			}
		}
	}
	return heaviest
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}
