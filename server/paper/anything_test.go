package paper

import (
	"io"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tacet/server/drawing"
)

// Whatever people type, a sheet is printed.
func TestAnythingIsPrinted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.String()
		number := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{0, -1, 12.5, math.NaN(), math.Inf(1)}))
		s := Sheet{
			Firm: words.Draw(t, "firm"), Job: words.Draw(t, "job"), Site: words.Draw(t, "site"), Surface: words.Draw(t, "surface"), Name: words.Draw(t, "name"),
			Code: "7KQ2M4XR9TBAP", Version: words.Draw(t, "version"), Printed: printed,
			Totals: Totals{MassKgM2: number.Draw(t, "mass"), LoadKNM2: number.Draw(t, "load"), LoadLimitKNM2: number.Draw(t, "limit"), LoadNote: words.Draw(t, "note")},
		}
		s.Section = drawing.Section{Kind: drawing.Kind(words.Draw(t, "kind")), Layers: []drawing.Slab{
			{Number: 1, Name: words.Draw(t, "slab"), ThicknessMM: number.Draw(t, "mm"), Hatch: drawing.Hatch(words.Draw(t, "hatch")), State: drawing.State(words.Draw(t, "state"))}}}
		for i := range rapid.IntRange(0, 3).Draw(t, "layers") {
			s.Layers = append(s.Layers, Layer{N: i, What: words.Draw(t, "what"), ThicknessMM: number.Draw(t, "mm"), Screw: &Screw{number.Draw(t, "min"), number.Draw(t, "max"), number.Draw(t, "stock")}})
			s.Checks = append(s.Checks, Check{Code: words.Draw(t, "code"), Criterion: words.Draw(t, "criterion"), Stop: rapid.Bool().Draw(t, "stop")})
		}
		if err := Write(io.Discard, []Sheet{s}); err != nil {
			t.Fatal(err)
		}
	})
}
