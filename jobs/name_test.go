package jobs_test

import (
	"testing"

	"tacet/jobs"
)

// Symbols of units have no plural; words that people count in have one, once.
func TestUnits(t *testing.T) {
	for _, test := range []struct {
		n          float64
		unit, want string
	}{{1, "sheet", "sheet"}, {6, "sheet", "sheets"}, {0, "pack", "packs"}, {10, "sheets", "sheets"}, {4, "box", "boxes"}, {1.5, "roll", "rolls"},
		{4.2, "m", "m"}, {16.6, "m²", "m²"}, {3, "kg", "kg"}, {2, "", ""}} {
		if got := jobs.Units(test.n, test.unit); got != test.want {
			t.Errorf("%v %s: %q, want %q", test.n, test.unit, got, test.want)
		}
	}
}
