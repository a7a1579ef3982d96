package acoustics

import (
	"math"
	"testing"
)

// A slit through a single leaf lets through what the formula of Gomperts and Kihlman says for an edge, well below its first resonance.
func TestThroughSlitAgainstGompertsKihlman(t *testing.T) {
	for _, c := range []struct{ width, depth, f float64 }{{0.003, 0.0125, 250}, {0.003, 0.03, 500}, {0.005, 0.1, 200}, {0.01, 0.05, 250}} {
		a := assembly{w: 4, h: 2.5, leaves: []leaf{{mass: 10, slits: []slit{{length: 4, width: c.width, depth: c.depth}}}}}
		got := a.throughSlits(c.f) * a.w * a.h / (4 * c.width)
		want := SlitTransmission(c.f, c.width, c.depth, true)
		if diff := 10 * math.Log10(got/want); math.Abs(diff) > 2 {
			t.Errorf("%+v: τ %.3g, formula %.3g: %.1f dB apart", c, got, want, diff)
		}
	}
}
