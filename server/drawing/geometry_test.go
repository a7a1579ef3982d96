package drawing

import (
	"fmt"
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

var kinds = []Kind{Wall, Ceiling, Floor, Soffit, Boxing, PipeRun, Beam}

// anySection draws a section of any kind, from empty to more than anyone builds.
func anySection(t *rapid.T) Section {
	hatch := rapid.SampledFrom(hatchesInOrder)
	state := rapid.SampledFrom(append([]State{PutRight, ""}, statesInOrder...))
	name := rapid.StringMatching(`[A-Za-z0-9 ,]{0,60}`)
	frame := rapid.SampledFrom([]Frame{NoFrame, TimberStud, SteelStud, StaggeredStud, TwinFrame, Independent, Joist})
	slab := func(n int, label string) Slab {
		s := Slab{Number: n, Name: name.Draw(t, label), ThicknessMM: rapid.Float64Range(0, 400).Draw(t, label), Hatch: hatch.Draw(t, label),
			Frame: frame.Draw(t, label), Resilient: rapid.SampledFrom([]Resilient{NoResilient, ResilientBar, ResilientClip}).Draw(t, label)}
		if rapid.Bool().Draw(t, label) {
			s.Fill = &Fill{ThicknessMM: rapid.Float64Range(0, 300).Draw(t, label), Missing: rapid.Float64Range(0, 1).Draw(t, label), Loose: rapid.Bool().Draw(t, label)}
		}
		return s
	}
	s := Section{Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), Room: name.Draw(t, "room"), Key: rapid.Bool().Draw(t, "key")}
	for i := range rapid.IntRange(0, 4).Draw(t, "existing") {
		s.Existing = append(s.Existing, slab(0, fmt.Sprintf("existing %d", i)))
	}
	for i := range rapid.IntRange(0, 12).Draw(t, "layers") {
		l := slab(i+1, fmt.Sprintf("layer %d", i+1))
		l.State, l.Share = state.Draw(t, "state"), rapid.Float64Range(0, 1).Draw(t, "share")
		if rapid.IntRange(0, 5).Draw(t, "special") == 0 {
			l.Within = rapid.IntRange(0, 4).Draw(t, "within")
		} else if rapid.IntRange(0, 9).Draw(t, "special") == 0 {
			l.Removes = rapid.IntRange(0, 4).Draw(t, "removes")
		}
		for range rapid.IntRange(0, 2).Draw(t, "defects") {
			l.Defects = append(l.Defects, Defect{rapid.SampledFrom([]DefectKind{OpenEdge, Bridge, MissingFill, Other}).Draw(t, "defect"), name.Draw(t, "words")})
		}
		s.Layers = append(s.Layers, l)
	}
	return s
}

// Nothing is drawn outside the picture, and no words run over its edge.
func TestEverythingLiesInsideTheFrame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySection(t)
		width := rapid.Float64Range(300, 1200).Draw(t, "width")
		shapes, height := s.Shapes(width)
		for _, shape := range shapes {
			for _, p := range shape.Points {
				if !(p.X >= 0 && p.X <= width && p.Y >= 0 && p.Y <= height) {
					t.Fatalf("%s %s of %q at %v is outside %v x %v", shape.Role, shape.Form, shape.Slab, p, width, height)
				}
			}
			if shape.Form != Words {
				continue
			}
			left, right := shape.Points[0].X, shape.Points[0].X+textWidth(shape.Text, shape.Size, shape.Bold)
			switch shape.Anchor {
			case Middle:
				left, right = left-(right-left)/2, left+(right-left)/2
			case End:
				left, right = left-(right-left), left
			}
			if left < -0.5 || right > width+0.5 || shape.Points[0].Y > height {
				t.Fatalf("words %q run from %v to %v in a picture %v wide", shape.Text, left, right, width)
			}
		}
	})
}

// Slabs follow each other outward without gap or overlap, in the order they were given; what is neither marked as drawn thicker
// nor as shorter is true to the scale bar.
func TestThicknessIsToScaleAndInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySection(t)
		room := rapid.Float64Range(60, 700).Draw(t, "room")
		bands, perMM := s.bands(room)
		at, next := 0.0, 0
		for _, b := range bands {
			if math.Abs(b.from-at) > 1e-9 || b.to <= b.from {
				t.Fatalf("%s lies from %v to %v after %v", b.id, b.from, b.to, at)
			}
			at = b.to
			if b.slab.Number > 0 {
				if b.slab.Number <= next {
					t.Fatalf("layer %d stands outward of layer %d", b.slab.Number, next)
				}
				next = b.slab.Number
			}
			want := b.slab.ThicknessMM * perMM
			switch {
			case b.thick && known(b.slab.ThicknessMM):
				if b.size() < want {
					t.Fatalf("%s is said to be drawn thicker and is not: %v, to scale %v", b.id, b.size(), want)
				}
			case b.broken:
				if b.size() > want+1e-6 {
					t.Fatalf("%s is said to be drawn shorter and is not: %v, to scale %v", b.id, b.size(), want)
				}
			case !b.thick && math.Abs(b.size()-want) > 0.06:
				t.Fatalf("%s is drawn %v, to scale %v", b.id, b.size(), want)
			}
		}
		if at > room+1e-6 {
			t.Fatalf("the section takes %v of %v", at, room)
		}
	})
}

// On a straight surface the area of a whole, solid slab is its thickness times the length, at the one scale of the drawing
// (arithmetic), and its hatch stays within it.
func TestAreasAreToScaleAndHatchStaysInside(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySection(t)
		s.Kind = rapid.SampledFrom([]Kind{Wall, Ceiling, Floor}).Draw(t, "straight")
		for i := range s.Layers {
			s.Layers[i].State, s.Layers[i].Within, s.Layers[i].Removes, s.Layers[i].Defects = Installed, 0, 0, nil
		}
		shapes, _ := s.Shapes(700)
		bands := bandsAsDrawn(s, 700)
		type edge struct{ low, high Point }
		slabs := map[string]edge{}
		for _, shape := range shapes {
			if shape.Role != RoleSlab || shape.Form != Polygon {
				continue
			}
			e := edge{shape.Points[0], shape.Points[0]}
			for _, p := range shape.Points {
				e.low = Point{math.Min(e.low.X, p.X), math.Min(e.low.Y, p.Y)}
				e.high = Point{math.Max(e.high.X, p.X), math.Max(e.high.Y, p.Y)}
			}
			slabs[shape.Slab] = e
		}
		for _, b := range bands {
			e, ok := slabs[b.id]
			if !ok {
				t.Fatalf("slab %s is not drawn", b.id)
			}
			across, along := e.high.X-e.low.X, e.high.Y-e.low.Y
			if s.Kind != Wall {
				across, along = along, across
			}
			if area := across * along; math.Abs(area-b.size()*along) > 0.01*along {
				t.Fatalf("slab %s covers %v, expected %v", b.id, area, b.size()*along)
			}
		}
		for _, shape := range shapes {
			if shape.Role != RoleHatch {
				continue
			}
			e := slabs[shape.Slab]
			for _, p := range shape.Points {
				if p.X < e.low.X-0.01 || p.X > e.high.X+0.01 || p.Y < e.low.Y-0.01 || p.Y > e.high.Y+0.01 {
					t.Fatalf("hatch of %s at %v leaves %v", shape.Slab, p, e)
				}
			}
		}
	})
}

// bandsAsDrawn lays the section out again and hands back where its slabs came to lie.
func bandsAsDrawn(s Section, width float64) []band {
	l := &layout{section: s, width: width, size: 13, y: margin}
	switch s.Kind {
	case Wall:
		l.upright()
	default:
		l.across()
	}
	return l.bands
}

// Every layer and every slab of the existing structure has its number or letter beside it, and none covers another.
func TestNumbersStandApart(t *testing.T) {
	for name, s := range samples() {
		for _, width := range []float64{320, 720} {
			shapes, _ := s.Shapes(width)
			seen := map[string]Point{}
			for _, shape := range shapes {
				if shape.Role == RoleLabel && shape.Form == Words {
					for other, p := range seen {
						if d := math.Hypot(p.X-shape.Points[0].X, p.Y-shape.Points[0].Y); d < 2*bubble {
							t.Errorf("%s at %v: numbers %s and %s are %.1f apart", name, width, other, shape.Text, d)
						}
					}
					seen[shape.Text] = shape.Points[0]
				}
			}
			for i := range s.Existing {
				if _, ok := seen[Letter(i)]; !ok {
					t.Errorf("%s: the existing slab %s has no letter", name, Letter(i))
				}
			}
			for _, layer := range s.Layers {
				if _, ok := seen[strconv.Itoa(layer.Number)]; !ok {
					t.Errorf("%s: layer %d has no number", name, layer.Number)
				}
			}
		}
	}
}

func TestSpreadKeepsOrderAndGap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 20).Draw(t, "n")
		want := make([]float64, n)
		at := 0.0
		for i := range want {
			at += rapid.Float64Range(0, 30).Draw(t, "step")
			want[i] = at
		}
		got, rows := spread(want, 21, 10, 290)
		for i := range got {
			if got[i] < 10-1e-9 || got[i] > 290+1e-9 {
				t.Fatalf("%v lies outside", got[i])
			}
			if i >= rows && got[i]-got[i-rows] < 21-1e-6 {
				t.Fatalf("%v and %v stand in one of %d rows, too close", got[i-rows], got[i], rows)
			}
		}
	})
}
