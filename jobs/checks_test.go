package jobs_test

import (
	"fmt"
	"slices"
	"testing"

	"tacet/jobs"
)

// The trade brief numbers its checks K01 to K50 and names the stop items; common practice, no source.
func TestChecksAreComplete(t *testing.T) {
	stops := []string{"K02", "K06", "K09", "K13", "K14", "K19", "K23", "K28", "K32", "K40", "K42", "K44", "K47"}
	rules := jobs.CheckRules()
	if len(rules) != 50 {
		t.Fatalf("%d checks, want 50", len(rules))
	}
	for i, r := range rules {
		if want := fmt.Sprintf("K%02d", i+1); r.Code != want {
			t.Fatalf("check %d is %s, want %s", i, r.Code, want)
		}
		if r.Stop != slices.Contains(stops, r.Code) {
			t.Errorf("%s: stop %v", r.Code, r.Stop)
		}
		for name, s := range map[string]string{"title": r.Title, "accept": r.Accept, "how": r.How, "fault": r.Fault, "photo": r.Photo, "stage": r.Stage} {
			if s == "" {
				t.Errorf("%s has no %s", r.Code, name)
			}
		}
	}
}

func TestChecksOfTheCeiling(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	for layer, want := range map[int][]string{
		1: {"K16", "K17"},
		2: {"K07", "K08", "K10", "K11", "K12", "K48"},
		3: {"K01", "K19", "K20", "K21", "K22", "K23", "K24"},
		4: {"K01", "K25"},
		5: {"K01", "K19", "K20", "K21", "K22", "K24", "K26", "K27", "K28"},
	} {
		var got []string
		for _, c := range d.job.Surface("C1").ChecksOf(layer) {
			got = append(got, c.Rule.Code)
		}
		if !slices.Equal(got, want) {
			t.Errorf("layer %d asks %v, want %v", layer, got, want)
		}
	}
	if c := d.check("F1", 1, "K32"); !c.Rule.Stop {
		t.Error("the strip round a floating floor is no stop item")
	}
}
