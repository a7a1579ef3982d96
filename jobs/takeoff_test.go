package jobs_test

import (
	"math"
	"strings"
	"testing"

	"tacet/acoustics"
	"tacet/jobs"
)

// The worked ceiling of the trade brief, 4.2 x 3.6 m: 6 + 6 sheets, 42 m of channel, 50 clips, 3 tubes, about 295 screws a
// layer; the load of an inner clip 0.4 x 1.05 m x hung mass. Common practice, no source; the rest is arithmetic.
func TestTakeOffOfTheWorkedCeiling(t *testing.T) {
	for _, c := range []struct {
		name           string
		layers         string
		sheets, kg     float64
		clipLoad, load float64
	}{
		{"15 + 15", `{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}`, 12, 435.456, 0.4 * 1.05 * 27.2, 27.2 * 0.00981},
		{"15 + 2.5 + 15", `{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6},{"kind":"membrane","thickness_mm":2.5,"mass_kg_m2":5},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}`, 12, 435.456, 0.4 * 1.05 * 32.2, 32.2 * 0.00981},
	} {
		var in jobs.TakeOffInput
		if err := acoustics.Decode([]byte(`{"surface":{"code":"C1","kind":"ceiling","width_m":4.2,"height_m":3.6,"specified":[
		  {"kind":"cavity","depth_mm":25,"frame":{"kind":"none","spacing_mm":400,"mass_kg_m2":2,"resilient":"clip"}},`+c.layers+`]}}`), &in); err != nil {
			t.Fatal(err)
		}
		out, err := in.TakeOff()
		if err != nil {
			t.Fatal(err)
		}
		sum := map[string]float64{}
		var boardKg float64
		for _, i := range out.Items {
			sum[i.Unit+" "+strings.Fields(i.Item)[0]] += i.Quantity
			if i.Unit == "sheet" {
				boardKg += i.Kg
				if math.Abs(*i.KgEach-36.288) > 1e-9 {
					t.Errorf("%s: a sheet weighs %v kg, want 36.288", c.name, *i.KgEach)
				}
			}
		}
		for key, want := range map[string]float64{"sheet board": c.sheets, "m channel": 42, "piece clip": 50, "tube acoustic": 3, "piece screw": 2 * 296} {
			if math.Abs(sum[key]-want) > 1e-9 {
				t.Errorf("%s: %s %v, want %v", c.name, key, sum[key], want)
			}
		}
		if math.Abs(boardKg-c.kg) > 1e-6 {
			t.Errorf("%s: boards weigh %v kg, want %v", c.name, boardKg, c.kg)
		}
		if out.ClipLoad == nil || math.Abs(*out.ClipLoad-c.clipLoad) > 1e-9 {
			t.Errorf("%s: clip load %v kg, want %v", c.name, out.ClipLoad, c.clipLoad)
		}
		if math.Abs(out.AddedLoad-c.load) > 1e-9 {
			t.Errorf("%s: added load %v kN/m², want %v", c.name, out.AddedLoad, c.load)
		}
	}
}

func TestTakeOffRefuses(t *testing.T) {
	for _, bad := range []string{
		`{"surface":{"code":"C1","kind":"ceiling","width_m":-1,"height_m":3}}`,
		`{"surface":{"code":"C1","kind":"ceiling","width_m":4,"height_m":3},"waste":2}`,
		`{"surface":{"code":"C1","kind":"ceiling","width_m":4,"height_m":3},"sheet":{"width_mm":0,"length_mm":2400}}`,
		`{"surface":{"code":"C1","kind":"ceiling","width_m":4,"height_m":3,"specified":[{"kind":"board","thickness_mm":-3,"mass_kg_m2":12}]}}`,
	} {
		var in jobs.TakeOffInput
		if err := acoustics.Decode([]byte(bad), &in); err != nil {
			t.Fatal(err)
		}
		if _, err := in.TakeOff(); err == nil {
			t.Errorf("%s passes", bad)
		}
	}
}
