package drawing

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"reflect"
	"strings"
	"testing"
)

// A page's policy forbids inline styles and scripts, and a reader who can't see the picture gets its result in words.
func TestSVGIsPlainAndSaysItsResult(t *testing.T) {
	for name, s := range samples() {
		for _, picture := range [][]byte{s.SVG(320), s.Mini()} {
			elements := parse(t, picture)
			for _, e := range elements {
				for _, a := range e.Attr {
					if a.Name.Local == "style" || strings.HasPrefix(a.Name.Local, "on") || a.Name.Local == "href" {
						t.Errorf("%s: <%s> has the attribute %s", name, e.Name.Local, a.Name.Local)
					}
				}
			}
			if elements[0].Name.Local != "svg" || elements[1].Name.Local != "title" || attr(elements[0], "role") != "img" {
				t.Errorf("%s does not begin as a picture with a title", name)
			}
			if s.Answer != "" && !bytes.Contains(picture, []byte("<title>"+strings.TrimRight(s.Answer, "."))) {
				t.Errorf("%s: the title does not open with the answer", name)
			}
		}
		desc := s.DescWords()
		for _, l := range s.Layers {
			if !strings.Contains(desc, l.Name) || !strings.Contains(desc, l.State.Words()) {
				t.Errorf("%s: the description leaves out layer %d: %s", name, l.Number, desc)
			}
			for _, d := range l.Defects {
				if !strings.Contains(desc, d.Words) {
					t.Errorf("%s: the description leaves out %q", name, d.Words)
				}
			}
		}
	}
}

func parse(t *testing.T, picture []byte) []xml.StartElement {
	t.Helper()
	var out []xml.StartElement
	d := xml.NewDecoder(bytes.NewReader(picture))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatalf("not well formed: %v", err)
		}
		if e, ok := token.(xml.StartElement); ok {
			out = append(out, e.Copy())
		}
	}
}

func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func TestHostileNamesStayWords(t *testing.T) {
	s := oneLayer()
	s.Title = `</title><script>alert(1)</script>`
	s.Room = "\x00\x1b[31m" + string([]byte{0xff, 0xfe}) + `" onload="x`
	s.Layers[0].Name = `<img src=x onerror=y>&amp;]]>`
	s.Key = true
	for _, e := range parse(t, s.SVG(320)) {
		switch e.Name.Local {
		case "svg", "title", "desc", "path", "circle", "text":
		default:
			t.Errorf("a name became the element <%s>", e.Name.Local)
		}
	}
}

// With every tone painted black two states must still look different or be told apart by words.
func TestStatesAreToldApartWithoutColour(t *testing.T) {
	for _, kind := range kinds {
		pictures := map[State][]Shape{}
		for _, state := range append([]State{PutRight}, statesInOrder...) {
			s := Section{Kind: kind, Layers: []Slab{{Number: 1, Name: "board", ThicknessMM: 15, Hatch: Board, State: state, Share: 0.5}}}
			shapes, _ := s.Shapes(320)
			for i := range shapes {
				shapes[i].Fill, shapes[i].Stroke = black(shapes[i].Fill), black(shapes[i].Stroke)
			}
			for other, picture := range pictures {
				if reflect.DeepEqual(picture, shapes) {
					t.Errorf("%s: %s looks like %s", kind, state, other)
				}
			}
			pictures[state] = shapes
		}
	}
}

func black(t Tone) Tone {
	if t == None || t == Paper {
		return t
	}
	return Ink
}

// Each defect is drawn where it is and said in its words.
func TestDefectsAreDrawnAndSaid(t *testing.T) {
	for _, kind := range kinds {
		for _, defect := range []DefectKind{OpenEdge, Bridge, MissingFill, Other} {
			sound := Section{Kind: kind, Layers: []Slab{{Number: 1, Name: "cavity", ThicknessMM: 75, State: Installed, Fill: &Fill{ThicknessMM: 50}}}}
			faulty := sound
			layer := sound.Layers[0]
			layer.Defects = []Defect{{defect, "found by the push test"}}
			if defect == MissingFill {
				layer.Fill = &Fill{ThicknessMM: 50, Missing: 0.3}
			}
			faulty.Layers = []Slab{layer}
			before, _ := sound.Shapes(320)
			after, _ := faulty.Shapes(320)
			if a, b := stops(before), stops(after); b <= a+1 { // one of them is the mark beside the words
				t.Errorf("%s: %s adds %d shapes", kind, defect, b-a)
			}
			said := false
			for _, s := range after {
				said = said || strings.Contains(s.Text, "found by the push")
			}
			if !said {
				t.Errorf("%s: %s is not said", kind, defect)
			}
		}
	}
}

func stops(shapes []Shape) int {
	n := 0
	for _, s := range shapes {
		if s.Role == RoleMark && (s.Stroke == Stop || s.Fill == Stop) {
			n++
		}
	}
	return n
}

func TestMarksHaveWordsAndDiffer(t *testing.T) {
	seen := map[string]Mark{}
	for _, m := range Marks() {
		picture := string(m.SVG(16))
		if m.Words() == "" {
			t.Errorf("%s has no word", m)
		}
		if other, ok := seen[picture]; ok {
			t.Errorf("%s looks like %s", m, other)
		}
		seen[picture] = m
		parse(t, []byte(picture))
	}
}

func TestNotesGroupLayers(t *testing.T) {
	if got, want := ranges([]int{1, 2, 3, 4, 7, 9, 10}), "1–4, 7, 9–10"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
