package acoustics_test

import (
	"encoding/json"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tacet/acoustics"
)

// within draws from the whole of a range, its ends more often.
func within(t *rapid.T, r acoustics.Range, label string) float64 {
	low := r.Min
	if r.Above {
		low = math.Nextafter(r.Min, math.Inf(1))
	}
	switch rapid.IntRange(0, 5).Draw(t, label+" where") {
	case 0:
		return low
	case 1:
		return r.Max
	}
	if low > 0 {
		return math.Exp(rapid.Float64Range(math.Log(low), math.Log(r.Max)).Draw(t, label))
	}
	return rapid.Float64Range(low, r.Max).Draw(t, label)
}

func maybe(t *rapid.T, r acoustics.Range, label string) *float64 {
	if rapid.Bool().Draw(t, label+" given") {
		return new(within(t, r, label))
	}
	return nil
}

func anyExtremeLayer(t *rapid.T) acoustics.Layer {
	th := within(t, acoustics.ThicknessRange, "mm")
	mass := min(max(th*within(t, acoustics.DensityRange, "density")/1000, 0.1), 3000)
	switch kind := rapid.SampledFrom(acoustics.LayerKinds()).Draw(t, "kind"); kind {
	case "membrane":
		return acoustics.Layer{Element: acoustics.Membrane{Thickness: th, Mass: mass, ShearModulusMPa: maybe(t, acoustics.ShearModulusRange, "G"), LossFactor: maybe(t, acoustics.LossFactorRange, "η")}}
	case "cavity":
		c := acoustics.Cavity{Depth: within(t, acoustics.DepthRange, "depth")}
		if rapid.Bool().Draw(t, "filled") {
			c.Fill = &acoustics.Fill{ThicknessMM: max(1, c.Depth*rapid.Float64Range(0, 1).Draw(t, "share")), DensityKgM3: within(t, acoustics.FillDensityRange, "wool"), FlowResistivityKPaSM2: maybe(t, acoustics.FlowResistivityRange, "r")}
		}
		if rapid.Bool().Draw(t, "framed") {
			c.Frame = &acoustics.Frame{Kind: rapid.SampledFrom(acoustics.FrameKinds()).Draw(t, "frame"), SpacingMM: maybe(t, acoustics.SpacingRange, "spacing"), MassKgM2: maybe(t, acoustics.FrameMassRange, "frame mass"), Resilient: rapid.SampledFrom([]string{"", "bar", "clip"}).Draw(t, "resilient")}
		}
		return acoustics.Layer{Element: c}
	case "resilient_mat":
		return acoustics.Layer{Element: acoustics.Mat{Thickness: th, Mass: within(t, acoustics.MatMassRange, "mat"), DynamicStiffnessMNM3: within(t, acoustics.DynamicStiffnessRange, "s'")}}
	case "loose_fill":
		return acoustics.Layer{Element: acoustics.LooseFill{Thickness: th, Mass: mass}}
	case "soft_covering":
		return acoustics.Layer{Element: acoustics.SoftCovering{Thickness: th, Mass: within(t, acoustics.MatMassRange, "covering"), DeltaLwDB: maybe(t, acoustics.DeltaLwRange, "ΔL_w")}}
	default:
		return acoustics.Layer{Element: acoustics.Board{Of: kind, Thickness: th, Mass: mass, YoungsModulusGPa: maybe(t, acoustics.YoungsModulusRange, "E"), Poisson: maybe(t, acoustics.PoissonRange, "ν"), LossFactor: maybe(t, acoustics.LossFactorRange, "η")}}
	}
}

// Whatever the ranges allow makes a prediction that is finite and can be written as JSON, or a plain refusal.
func TestExtremes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := acoustics.BuildUp{Surface: rapid.SampledFrom([]string{"wall", "floor", "ceiling"}).Draw(t, "surface")}
		b.WidthM, b.HeightM = within(t, acoustics.SizeRange, "w"), within(t, acoustics.SizeRange, "h")
		for range rapid.IntRange(1, 9).Draw(t, "layers") {
			b.Layers = append(b.Layers, anyExtremeLayer(t))
		}
		if rapid.Bool().Draw(t, "gap") {
			b.Gaps = []acoustics.Gap{{Leaf: 1, LengthM: within(t, acoustics.GapLengthRange, "length"), WidthMM: within(t, acoustics.GapWidthRange, "width"), DepthMM: within(t, acoustics.GapDepthRange, "gap depth")}}
		}
		if rapid.Bool().Draw(t, "bridge") {
			b.PointBridges = []acoustics.PointBridge{{Cavity: 1, N: within(t, acoustics.BridgeRange, "n")}}
		}
		p, err := b.Predict()
		if err != nil {
			return
		}
		if _, err := json.Marshal(p); err != nil {
			t.Fatal(err)
		}
		for hz, db := range p.R.All() {
			if math.IsNaN(db) || db < -0.1 || db > 151 {
				t.Fatalf("%d Hz: %v dB", hz, db)
			}
		}
	})
}
