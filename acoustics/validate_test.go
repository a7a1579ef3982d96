package acoustics_test

import (
	"encoding/json"
	"flag"
	"math"
	"os"
	"strings"
	"testing"

	"tacet/acoustics"
	"tacet/testdata"
)

var update = flag.Bool("update", false, "write accuracy.json from the measured rows")

// The model error of each family, embedded as accuracy.json, is what the measured rows give now. -update writes it.
func TestAccuracyFile(t *testing.T) {
	list, _, err := acoustics.Validate(testdata.Files)
	if err != nil {
		t.Fatal(err)
	}
	now, err := json.MarshalIndent(list, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	now = append(now, '\n')
	if *update {
		if err := os.WriteFile("accuracy.json", now, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	old, err := os.ReadFile("accuracy.json")
	if err != nil {
		t.Fatal(err)
	}
	if string(old) != string(now) {
		t.Errorf("accuracy.json is not what the measured rows give; run go test ./acoustics -run TestAccuracyFile -update\n%s", now)
	}
}

// How near predictions must come to the measured rows that are not doubtful: bias and r.m.s. error of single numbers, and the r.m.s. error
// of octaves 250 to 2000 Hz. Limits: 1 and 3 dB for light single leaves, 1.5 and 3.5 dB for the rest, 5 dB for octaves. Where the model
// does not reach them the limit is what it does reach, and says why: it may get better, not worse.
func TestReach(t *testing.T) {
	limits := map[string]struct{ bias, rms, octaves float64 }{
		"light_single": {1, 3, 5},
		"double":       {1.5, 3.5, 5},
		"floor":        {1.5, 3.5, 5},
		"glazing":      {1.5, 3.5, 8}, // four old windows whose frames and edges are not printed
		"lining":       {1.5, 3.5, 5},
		"heavy":        {1.5, 5, 5}, // mixed blocks, masses and sealing not printed; the mass rule is the test that counts
	}
	list, _, err := acoustics.Validate(testdata.Files)
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, a := range list {
		limit, ok := limits[a.Family]
		if !ok {
			continue
		}
		seen++
		if math.Abs(a.BiasDB) > limit.bias || a.RMSDB > limit.rms || a.OctaveRMSDB > limit.octaves {
			t.Errorf("%s: bias %.2f, r.m.s. %.2f, octaves %.2f dB; limits %+v", a.Family, a.BiasDB, a.RMSDB, a.OctaveRMSDB, limit)
		}
	}
	if seen != len(limits) {
		t.Errorf("only %d of %d families have rows", seen, len(limits))
	}
}

// Every measured row names its source.
func TestMeasuredRowsHaveSources(t *testing.T) {
	_, rows, err := acoustics.Validate(testdata.Files)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows {
		if strings.TrimSpace(r.Source) == "" {
			t.Errorf("%s has no source", r.ID)
		}
	}
}
