package acoustics_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tacet/acoustics"
)

// anyLeaf draws one to three boards and membranes, or a wall.
func anyLeaf(t *rapid.T, label string) []acoustics.Layer {
	if rapid.IntRange(0, 5).Draw(t, label+" heavy") == 0 {
		th := rapid.Float64Range(90, 250).Draw(t, label+" mm")
		return []acoustics.Layer{solid("masonry", th, th*1.7)}
	}
	var leaf []acoustics.Layer
	for range rapid.IntRange(1, 3).Draw(t, label+" layers") {
		th := rapid.Float64Range(9, 19).Draw(t, label+" mm")
		if rapid.Bool().Draw(t, label+" limp") && len(leaf) > 0 {
			leaf = append(leaf, membrane(th/4, th/2))
		} else {
			leaf = append(leaf, board(th, th*rapid.Float64Range(0.65, 1.1).Draw(t, label+" t/m3")))
		}
	}
	return leaf
}

// anyCavity draws a cavity; framing with a side is left out, for the side turns with the stack.
func anyCavity(t *rapid.T, label string) acoustics.Layer {
	depth := rapid.Float64Range(10, 300).Draw(t, label+" mm")
	wool := 0.0
	if rapid.Bool().Draw(t, label+" filled") {
		wool = depth * rapid.Float64Range(0.2, 1).Draw(t, label+" share")
	}
	f := acoustics.Frame{Kind: rapid.SampledFrom(acoustics.FrameKinds()).Draw(t, label+" frame")}
	f.Resilient = rapid.SampledFrom([]string{"", "", "bar", "clip"}).Draw(t, label+" resilient")
	return framed(depth, max(wool, 0), f)
}

func anyBuildUp(t *rapid.T) acoustics.BuildUp {
	b := acoustics.BuildUp{Surface: "wall", WidthM: rapid.Float64Range(1, 8).Draw(t, "w"), HeightM: rapid.Float64Range(1, 4).Draw(t, "h")}
	b.Layers = anyLeaf(t, "first")
	for range rapid.IntRange(0, 2).Draw(t, "cavities") {
		b.Layers = append(append(b.Layers, anyCavity(t, "cavity")), anyLeaf(t, "leaf")...)
	}
	return b
}

// Reciprocity: the order of the layers may be turned round.
func TestReciprocity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := anyBuildUp(t)
		turned := b
		turned.Layers = slices.Clone(b.Layers)
		slices.Reverse(turned.Layers)
		p, err := b.Predict()
		if err != nil {
			t.Fatal(err)
		}
		q, err := turned.Predict()
		if err != nil {
			t.Fatal(err)
		}
		for hz, db := range p.R.All() {
			if other, _ := q.R.At(hz); math.Abs(db-other) > 0.05 {
				t.Fatalf("%d Hz: %.3f dB, turned round %.3f dB", hz, db, other)
			}
		}
	})
}

// Adding mass to the outer leaf of a filled double wall never lowers R below coincidence: limp mass, which leaves f_c where it is or raises it.
func TestMassHelps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		depth := rapid.Float64Range(40, 250).Draw(t, "depth")
		kind := rapid.SampledFrom([]string{"none", "timber_stud", "steel_stud", "twin_frame"}).Draw(t, "frame")
		m := rapid.Float64Range(7, 15).Draw(t, "mass")
		extra := rapid.Float64Range(1, 20).Draw(t, "extra")
		b := wall(board(12.5, m), cavity(depth, depth, kind), board(12.5, 8.5))
		heavier := wall(membrane(extra/2, extra), board(12.5, m), cavity(depth, depth, kind), board(12.5, 8.5))
		p, err := b.Predict()
		if err != nil {
			t.Fatal(err)
		}
		q, err := heavier.Predict()
		if err != nil {
			t.Fatal(err)
		}
		for hz, db := range p.R.All() {
			// Below the resonance more mass moves it down towards the band, which may lower R there: it is above that mass must help.
			if float64(hz) < 1.5*p.ResonanceHz[0] || float64(hz) > 0.5*p.CriticalHz[0] {
				continue
			}
			if with, _ := q.R.At(hz); with < db-0.3 {
				t.Fatalf("%d Hz: %.2f dB, with %.1f kg/m² more %.2f dB", hz, db, extra, with)
			}
		}
	})
}

// R is continuous: a thousandth more of a thickness, a mass or a depth changes no band by more than a little.
func TestContinuity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		depth := rapid.Float64Range(20, 300).Draw(t, "depth")
		m := rapid.Float64Range(7, 15).Draw(t, "mass")
		th := rapid.Float64Range(9, 20).Draw(t, "thickness")
		at := func(scale float64) acoustics.Curve {
			p, err := wall(board(th*scale, m*scale), cavity(depth*scale, depth/2, "steel_stud"), board(12.5, 8.5)).Predict()
			if err != nil {
				t.Fatal(err)
			}
			return p.R
		}
		a, b := at(1), at(1.0005)
		for hz, db := range a.All() {
			if other, _ := b.At(hz); math.Abs(db-other) > 0.5 {
				t.Fatalf("%d Hz jumps from %.2f to %.2f dB", hz, db, other)
			}
		}
	})
}

// No build-up that is valid makes a prediction that isn't finite.
func TestPredictionsAreFinite(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, err := anyBuildUp(t).Predict()
		if err != nil {
			t.Fatal(err)
		}
		for hz, db := range p.R.All() {
			if math.IsNaN(db) || math.IsInf(db, 0) || db < -0.1 {
				t.Fatalf("%d Hz: %v dB", hz, db)
			}
		}
		if p.UDB <= 0 || math.IsNaN(p.UDB) {
			t.Fatalf("uncertainty %v dB", p.UDB)
		}
	})
}
