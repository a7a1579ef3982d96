package outcomes_test

import (
	"encoding/csv"
	"io/fs"
	"math"
	"strconv"
	"strings"
	"testing"

	"tacet/jobs/outcomes"
	"tacet/testdata"
)

// numbers are the lists of one column of a published row, by name.
type numbers map[string][]float64

func parse(t *testing.T, s string) numbers {
	t.Helper()
	out := numbers{}
	for _, word := range strings.Fields(s) {
		key, list, _ := strings.Cut(word, "=")
		for _, item := range strings.Split(list, ",") {
			v, err := strconv.ParseFloat(item, 64)
			if err != nil {
				t.Fatalf("%q: %v", word, err)
			}
			out[key] = append(out[key], v)
		}
	}
	return out
}

// calculators make of a row's input what its expected values are compared with.
var calculators = map[string]func(*testing.T, numbers) numbers{
	"wilson": func(_ *testing.T, in numbers) numbers {
		i := outcomes.Wilson(int(in["events"][0]), int(in["n"][0]), 0.95)
		return numbers{"low": {i.Low}, "high": {i.High}}
	},
	"exact": func(_ *testing.T, in numbers) numbers {
		i := outcomes.Exact(int(in["events"][0]), int(in["n"][0]), 0.95)
		return numbers{"low": {i.Low}, "high": {i.High}}
	},
	"at_most": func(_ *testing.T, in numbers) numbers {
		return numbers{"high": {outcomes.AtMost(int(in["events"][0]), int(in["n"][0]), 0.95)}}
	},
	"difference": func(_ *testing.T, in numbers) numbers {
		d := outcomes.DifferenceOf(int(in["a"][0]), int(in["n"][0]), int(in["b"][0]), int(in["m"][0]), 0.95)
		return numbers{"low": {d.Interval.Low}, "high": {d.Interval.High}}
	},
	"paired": func(_ *testing.T, in numbers) numbers {
		m := outcomes.Paired(in["before"], in["after"], 0.95)
		return numbers{"n": {float64(m.N)}, "mean": {*m.Mean}, "low": {m.Interval.Low}, "high": {m.Interval.High}}
	},
	"kaplan_meier": func(_ *testing.T, in numbers) numbers {
		var units []outcomes.Followed
		for i, at := range in["time"] {
			units = append(units, outcomes.Followed{Time: at, Event: in["event"][i] == 1})
		}
		out := numbers{}
		for _, s := range outcomes.KaplanMeier(units, 0.95).Steps {
			out["time"] = append(out["time"], s.Time)
			out["at_risk"] = append(out["at_risk"], float64(s.AtRisk))
			out["events"] = append(out["events"], float64(s.Events))
			out["free"] = append(out["free"], s.Free)
			out["se"] = append(out["se"], s.SE)
		}
		return out
	},
	"firth": func(t *testing.T, in numbers) numbers {
		var ps []outcomes.Pattern
		for i := range in["n"] {
			x := []float64{1}
			for _, c := range []string{"age", "oc", "vic", "vicl", "vis", "dia"} {
				x = append(x, in[c][i])
			}
			ps = append(ps, outcomes.Pattern{X: x, Events: int(in["events"][i]), N: int(in["n"][i])})
		}
		f, err := outcomes.FitFirth(ps)
		if err != nil {
			t.Fatal(err)
		}
		out := numbers{"beta": f.Beta}
		for i := range f.Beta {
			l, open, err := f.Profile(i, 0.90)
			if err != nil || open {
				t.Fatalf("limits of %d: %v, open %v", i, err, open)
			}
			out["low"] = append(out["low"], l.Low)
			out["high"] = append(out["high"], l.High)
		}
		return out
	},
}

// Every published row is calculated, and every calculator has a row.
func TestPublished(t *testing.T) {
	files, err := fs.Glob(testdata.Files, "published/outcomes/*.csv")
	if err != nil || len(files) == 0 {
		t.Fatalf("no published values: %v", err)
	}
	used := map[string]bool{}
	for _, name := range files {
		f, err := testdata.Files.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(f).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows[1:] {
			what, source := row[1], row[5]
			if calculators[what] == nil || source == "" {
				t.Fatalf("%s: nothing calculates %q, or it has no source", row[0], what)
			}
			used[what] = true
			tolerance, err := strconv.ParseFloat(row[4], 64)
			if err != nil {
				t.Fatal(err)
			}
			got := calculators[what](t, parse(t, row[2]))
			for key, want := range parse(t, row[3]) {
				if len(got[key]) != len(want) {
					t.Errorf("%s: %d values of %s, want %d", row[0], len(got[key]), key, len(want))
					continue
				}
				for i, w := range want {
					if math.Abs(got[key][i]-w) > tolerance {
						t.Errorf("%s: %s[%d] = %v, want %v ± %v (%s)", row[0], key, i, got[key][i], w, tolerance, source)
					}
				}
			}
		}
	}
	for what := range calculators {
		if !used[what] {
			t.Errorf("no published row for %s", what)
		}
	}
}
