package drawing

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// stateWords are the states as people say them.
var stateWords = map[State]string{
	Specified: "specified", Delivered: "delivered", PartInstalled: "in part", Installed: "installed", Ready: "ready to be seen",
	Accepted: "accepted", Covered: "covered", CoveredUnseen: "covered unseen", ToPutRight: "to be put right",
	PutRight: "put right", Disputed: "disputed",
}

// Words is the state as people say it: "covered unseen". A state that is not known is said as it is spelt.
func (s State) Words() string {
	if w, ok := stateWords[s]; ok {
		return w
	}
	return strings.ReplaceAll(string(s), "_", " ")
}

// hatchWords are the materials as a legend names them.
var hatchWords = map[Hatch]string{
	Masonry: "masonry", Concrete: "concrete", Timber: "timber", Board: "board", DenseBoard: "dense board", Wool: "wool",
	Membrane: "membrane", Mat: "mat", Metal: "metal", Air: "air", Plaster: "plaster", Screed: "screed", Glass: "glass",
	LooseFill: "loose fill",
}

// Words is the material as a legend names it.
func (h Hatch) Words() string {
	if w, ok := hatchWords[h]; ok {
		return w
	}
	return "air"
}

var kindWords = map[Kind]string{
	Wall: "Wall", Ceiling: "Ceiling", Floor: "Floor", Soffit: "Soffit", Boxing: "Boxing", PipeRun: "Pipe run", Beam: "Beam",
}

// Words is the kind of surface with a capital: "Pipe run".
func (k Kind) Words() string {
	if w, ok := kindWords[k]; ok {
		return w
	}
	return "Surface"
}

// Millimetres is a thickness to the tenth with its unit, or words where it is not known.
func Millimetres(mm float64) string {
	if !known(mm) {
		return "thickness not known"
	}
	return strconv.FormatFloat(math.Round(mm*10)/10, 'f', -1, 64) + " mm"
}

func known(mm float64) bool { return mm > 0 && !math.IsInf(mm, 0) && !math.IsNaN(mm) }

// stateOf is the state in words, with the share where only part is up.
func stateOf(s Slab) string {
	if s.State == PartInstalled {
		return fmt.Sprintf("in part, %.0f %% installed", share(s.Share)*100)
	}
	return s.State.Words()
}

func share(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return math.Max(0, math.Min(1, v))
}

// words are the defect's own, or what its kind is called where nobody wrote any.
func (d Defect) words() string {
	if text := strings.TrimSpace(d.Words); text != "" {
		return text
	}
	switch d.Kind {
	case OpenEdge:
		return "perimeter open"
	case Bridge:
		return "bridged"
	case MissingFill:
		return "wool missing"
	}
	return "not in order"
}

// TitleWords is the title of the picture: the answer first, so that it is heard first.
func (s Section) TitleWords() string {
	name := strings.TrimSpace(s.Kind.Words() + " " + s.Code)
	if s.Title != "" {
		name += ", " + s.Title
	}
	name += " in section"
	if s.Answer != "" {
		return strings.TrimRight(s.Answer, ".") + ". " + name + "."
	}
	return name + "."
}

// DescWords is the picture in words: what stands there, layer by layer from the existing structure outward, what was found, and
// what could not be drawn to scale.
func (s Section) DescWords() string {
	var b strings.Builder
	switch {
	case len(s.Existing) == 0 && s.surrounds():
		b.WriteString("Outward from the member. ")
	case len(s.Existing) == 0:
		b.WriteString("The existing structure is not recorded. ")
	default:
		b.WriteString("From the existing structure outward: existing ")
		for i, e := range s.Existing {
			if i > 0 {
				b.WriteString(", ")
			}
			b.WriteString(describe(e))
		}
		b.WriteString(". ")
	}
	if len(s.Layers) == 0 {
		b.WriteString("No layers are specified. ")
	}
	total := 0.0
	for _, l := range s.Layers {
		fmt.Fprintf(&b, "Layer %d %s", l.Number, describe(l))
		switch {
		case l.Within > 0:
			b.WriteString(" within the existing structure")
		case l.Removes > 0:
			b.WriteString(" taken away")
		case known(l.ThicknessMM):
			total += l.ThicknessMM
		}
		if l.State != "" {
			b.WriteString(", " + stateOf(l))
		}
		if l.Fill != nil && l.Fill.Missing > 0 {
			fmt.Fprintf(&b, ", wool missing over %.0f %%", share(l.Fill.Missing)*100)
		}
		for _, d := range l.Defects {
			b.WriteString(", found: " + d.words())
		}
		b.WriteString(". ")
	}
	if total > 0 {
		fmt.Fprintf(&b, "Added thickness %s. ", Millimetres(total))
	}
	fmt.Fprintf(&b, "The far side is the %s.", s.room())
	return b.String()
}

func (s Section) room() string {
	if s.Room == "" {
		return "room"
	}
	return s.Room
}

// describe is a slab by name and thickness; a name that already ends in its thickness is not said twice.
func describe(s Slab) string {
	name := strings.TrimSpace(s.Name)
	if name == "" {
		name = s.Hatch.Words()
	}
	if s.Removes > 0 {
		return name
	}
	mm := Millimetres(s.ThicknessMM)
	if strings.Contains(name, mm) {
		return name
	}
	return name + ", " + mm
}
