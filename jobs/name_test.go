package jobs_test

import (
	"testing"

	"tacet/acoustics"
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

// The first letter is a letter, in whatever language somebody writes.
func TestFirstLetter(t *testing.T) {
	for _, c := range []struct{ small, large string }{{"", ""}, {"perimeter", "Perimeter"}, {"écho", "Écho"}, {"ö", "Ö"}, {"12 mm", "12 mm"}, {"\xff", "\xff"}} {
		if got := jobs.Capital(c.small); got != c.large {
			t.Errorf("Capital(%q) is %q", c.small, got)
		}
		if got := jobs.Lower(c.large); got != c.small {
			t.Errorf("Lower(%q) is %q", c.large, got)
		}
	}
}

// A frame is set out by its centres, so they belong to its name; an air gap has none.
func TestNameOfFrameSaysItsCentres(t *testing.T) {
	centres, wool := 400.0, &acoustics.Fill{ThicknessMM: 50, DensityKgM3: 45}
	for _, test := range []struct {
		cavity acoustics.Cavity
		want   string
	}{
		{acoustics.Cavity{Depth: 25, Frame: &acoustics.Frame{Kind: "none", Resilient: "clip", SpacingMM: &centres}}, "clip and channel 25 mm at 400 mm centres"},
		{acoustics.Cavity{Depth: 70, Fill: wool, Frame: &acoustics.Frame{Kind: "steel_stud", SpacingMM: &centres}}, "steel stud 70 mm at 400 mm centres with wool 50 mm"},
		{acoustics.Cavity{Depth: 70, Frame: &acoustics.Frame{Kind: "steel_stud"}}, "steel stud 70 mm"},
		{acoustics.Cavity{Depth: 20, Frame: &acoustics.Frame{Kind: "none", SpacingMM: &centres}}, "air gap 20 mm"},
		{acoustics.Cavity{Depth: 20}, "air gap 20 mm"},
	} {
		if got := jobs.NameOf(acoustics.Layer{Element: test.cavity}); got != test.want {
			t.Errorf("%q, want %q", got, test.want)
		}
	}
}
