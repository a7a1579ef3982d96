package acoustics_test

import (
	"testing"

	"tacet/acoustics"
)

// The reference curve at its own place rates as itself, without any deviation. Values at 100, 500 and 3150 Hz: ISO 717-1,
// Table 3, and ISO 717-2, Table 3 (second hand; see the notes on ratings).
func TestReferenceCurves(t *testing.T) {
	for _, c := range []struct {
		curve     acoustics.Curve
		low, high float64
	}{{acoustics.ReferenceAirborne(52), 33, 56}, {acoustics.ReferenceAirborne(40), 21, 44}, {acoustics.ReferenceImpact(60), 62, 42}, {acoustics.ReferenceImpact(55), 57, 37}} {
		if v, _ := c.curve.At(100); v != c.low {
			t.Errorf("%v dB at 100 Hz, want %v", v, c.low)
		}
		if v, _ := c.curve.At(3150); v != c.high {
			t.Errorf("%v dB at 3150 Hz, want %v", v, c.high)
		}
	}
	// With no deviation at all the reference moves on until the sum of deviations is 32 dB: 2 dB in each of 16 bands.
	r, err := acoustics.RateAirborne(acoustics.ReferenceAirborne(52))
	if err != nil || r.Value != 54 {
		t.Errorf("the reference curve of 52 dB rates as %d (%v), want 54", r.Value, err)
	}
}
