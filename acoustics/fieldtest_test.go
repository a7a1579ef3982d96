package acoustics_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"tacet/acoustics"
)

var bands16 = []int{100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150}

func flat(n int, db float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = db
	}
	return out
}

// Arithmetic: energy mean of 90 and 80 dB is 87.4; T = 0.5 s changes nothing; S T/(0.16 V) with S 10, V 50 is -2.04 dB.
func TestFieldTestAirborne(t *testing.T) {
	test := acoustics.FieldTest{
		Kind: "airborne", L1DB: [][]float64{flat(16, 90), flat(16, 80)}, L2DB: [][]float64{flat(16, 40)},
		BackgroundDB: flat(16, 20), TS: flat(16, 0.5), VolumeM3: new(50.0), AreaM2: new(10.0), BandsHz: bands16,
	}
	test.BackgroundDB[0] = 33 // 7 dB below: 10 lg(10^4 - 10^3.3) = 39.0
	test.BackgroundDB[1] = 35 // 5 dB below: 1.3 dB off, and flagged
	r, err := test.Evaluate()
	if err != nil {
		t.Fatal(err)
	}
	for hz, want := range map[int]float64{100: 48.4, 125: 48.7, 160: 47.4} {
		if got, _ := r.DnT.At(hz); math.Abs(got-want) > 0.05 {
			t.Errorf("D_nT at %d Hz is %.1f dB, want %.1f", hz, got, want)
		}
	}
	if got, _ := r.RPrime.At(160); math.Abs(got-45.4) > 0.05 {
		t.Errorf("R' at 160 Hz is %.1f dB, want 45.4", got)
	}
	if len(r.BackgroundLimitedHz) != 1 || r.BackgroundLimitedHz[0] != 125 {
		t.Errorf("background limits %v, want 125 Hz", r.BackgroundLimitedHz)
	}
	if r.DnTwDB == nil || r.LnT != nil || r.CIDB != nil {
		t.Error("airborne and impact results are mixed")
	}
}

// Notes say what was done to the numbers, and nothing that was not done.
func TestFieldTestNotes(t *testing.T) {
	test := acoustics.FieldTest{
		Kind: "airborne", L1DB: [][]float64{flat(16, 90)}, L2DB: [][]float64{flat(16, 40)}, CornerDB: flat(16, 45),
		BackgroundDB: flat(16, 20), TS: flat(16, 0.5), VolumeM3: new(20.0), AreaM2: new(10.0), BandsHz: bands16,
	}
	test.BackgroundDB[3] = 35
	r, err := test.Evaluate()
	if err != nil {
		t.Fatal(err)
	}
	notes := strings.Join(r.Notes, "; ")
	if !strings.Contains(notes, "in 1 band the") || !strings.Contains(notes, "corner levels are not used") || strings.Contains(notes, "low-frequency") {
		t.Errorf("a small room tested from 100 Hz up: %s", notes)
	}
	test.BandsHz = append([]int{50, 63, 80}, bands16...)
	test.L1DB, test.L2DB, test.CornerDB = [][]float64{flat(19, 90)}, [][]float64{flat(19, 40)}, flat(19, 45)
	test.BackgroundDB, test.TS = flat(19, 20), flat(19, 0.5)
	if r, err = test.Evaluate(); err != nil {
		t.Fatal(err)
	}
	if notes = strings.Join(r.Notes, "; "); !strings.Contains(notes, "50 to 80 Hz by the low-frequency procedure") {
		t.Errorf("a small room tested from 50 Hz up: %s", notes)
	}
}

// Arithmetic: T = 1 s takes 3.0 dB off; corners at 63 Hz in a room below 25 m³: 10 lg((10^7 + 2·10^6)/3) = 66.0.
func TestFieldTestImpact(t *testing.T) {
	bands := append([]int{50, 63, 80}, bands16...)
	test := acoustics.FieldTest{Kind: "impact", LiDB: [][]float64{flat(19, 60)}, TS: flat(19, 1), BandsHz: bands, VolumeM3: new(20.0), CornerDB: flat(19, 70)}
	r, err := test.Evaluate()
	if err != nil {
		t.Fatal(err)
	}
	for hz, want := range map[int]float64{63: 63.0, 1000: 57.0} {
		if got, _ := r.LnT.At(hz); math.Abs(got-want) > 0.06 {
			t.Errorf("L'_nT at %d Hz is %.1f dB, want %.1f", hz, got, want)
		}
	}
	// The time of the 63 Hz octave counts at 50 and 80 Hz too: 2 s takes 6.0 dB off (arithmetic).
	test.TS[1] = 2
	if r, err = test.Evaluate(); err != nil {
		t.Fatal(err)
	}
	for hz, want := range map[int]float64{50: 60, 63: 60, 80: 60, 100: 57} {
		if got, _ := r.LnT.At(hz); math.Abs(got-want) > 0.06 {
			t.Errorf("with 2 s in the 63 Hz octave L'_nT at %d Hz is %.1f dB, want %.1f", hz, got, want)
		}
	}
	// 24.4 m³ is a small room, 24.6 m³ none: the volume is rounded.
	for volume, want := range map[float64]float64{24.4: 60, 24.6: 54} {
		test.VolumeM3 = &volume
		if r, err = test.Evaluate(); err != nil {
			t.Fatal(err)
		}
		if got, _ := r.LnT.At(63); math.Abs(got-want) > 0.06 {
			t.Errorf("%.1f m³: L'_nT at 63 Hz is %.1f dB, want %.1f", volume, got, want)
		}
	}
	test.TS[1] = 1
	test.VolumeM3 = new(40.0)
	if r, err = test.Evaluate(); err != nil {
		t.Fatal(err)
	}
	if got, _ := r.LnT.At(63); math.Abs(got-57) > 0.06 {
		t.Errorf("in a larger room corners count: %.1f dB", got)
	}
}

// Background by ISO 16283-1 (from memory, sure): 10 dB and more nothing, 6 to 10 energies, 6 and less 1.3 dB and flagged; arithmetic.
func TestCorrectBackground(t *testing.T) {
	for _, c := range []struct {
		level, background, want float64
		limited                 bool
	}{{50, 40, 50, false}, {50, 30, 50, false}, {50, 43, 49.03, false}, {50, 44, 48.7, true}, {50, 50, 48.7, true}, {50, 60, 48.7, true}} {
		got, limited := acoustics.CorrectBackground(c.level, c.background)
		if math.Abs(got-c.want) > 0.01 || limited != c.limited {
			t.Errorf("%+v: %.2f, %v", c, got, limited)
		}
	}
}

func TestFieldTestRefuses(t *testing.T) {
	good := acoustics.FieldTest{Kind: "impact", LiDB: [][]float64{flat(16, 60)}, TS: flat(16, 1), BandsHz: bands16}
	for _, c := range []struct {
		change func(*acoustics.FieldTest)
		want   string
	}{
		{func(f *acoustics.FieldTest) { f.Kind = "both" }, `kind is "both"; give one of airborne, impact`},
		{func(f *acoustics.FieldTest) { f.TS = flat(15, 1) }, "t_s is a list of 15; give 16 values, one for each band"},
		{func(f *acoustics.FieldTest) { f.LiDB = [][]float64{flat(16, 60), flat(3, 60)} }, "li_db[1] is a list of 3; give 16 values"},
		{func(f *acoustics.FieldTest) { f.BandsHz = append([]int{105}, bands16[1:]...) }, "bands_hz[0] is 105"},
		{func(f *acoustics.FieldTest) { f.BandsHz = bands16[:10] }, "bands_hz is without some bands"},
		{func(f *acoustics.FieldTest) { f.L1DB = f.LiDB }, "l1_db is given"},
		{func(f *acoustics.FieldTest) { f.CornerDB = flat(16, 60) }, "volume_m3 is missing"},
		{func(f *acoustics.FieldTest) { f.TS = flat(16, 0) }, "t_s[0] is 0; give 0.05 to 30 s"},
	} {
		f := good
		c.change(&f)
		_, err := f.Evaluate()
		var in *acoustics.InputError
		if !errors.As(err, &in) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, want %q", err, c.want)
		}
	}
}

// Holes: 0.1 % of open area caps R at 30 dB, 1 % at 20 dB (arithmetic with τ = 1).
func TestLeakCaps(t *testing.T) {
	r := acoustics.CurveFrom(100, flat(16, 90)...)
	for share, want := range map[float64]float64{0.001: 30, 0.01: 20} {
		out, err := acoustics.LeakInput{R: r, AreaM2: 10, OpenAreaM2: 10 * share}.With()
		if err != nil {
			t.Fatal(err)
		}
		if got, _ := out.R.At(500); math.Abs(got-want) > 0.1 {
			t.Errorf("%g open: %.1f dB, want %.1f", share, got, want)
		}
	}
	_, err := acoustics.LeakInput{R: r, AreaM2: 1, OpenAreaM2: 2}.With()
	if err == nil || !strings.HasPrefix(err.Error(), "area_m2 is 1; give at least 2 m²") {
		t.Errorf("holes larger than the wall: %v", err)
	}
}

// Wrap: η = 0.0005 + 0.3·0.25·3.5/(18 + 0.25·3.5) = 0.01441, T = 2.2/(500 η) = 0.3054 s; bare 8.8 s (arithmetic).
func TestWrap(t *testing.T) {
	out, err := acoustics.WrapInput{MemberKgM: 18, MemberLossFactor: 0.0005, WrapKgM: 3.5, WrapLossFactor: 0.3, Share: 0.25, Hz: []float64{250, 500}}.Ring()
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(out.LossFactor-0.01441) > 1e-5 || math.Abs(out.DecayS["500"]-0.3054) > 2e-4 || out.BareDecayS["500"] != 8.8 {
		t.Errorf("got %+v", out)
	}
}
