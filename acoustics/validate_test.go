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
		"lining":       {1.5, 3.5, 5},
		"impact_heavy": {1.5, 3.5, 5},
		// One window of four, B65, is contradicted by three others of the same table (see TestRowsThatContradict); without it 5 dB hold, and on the
		// sealed units of another source too.
		"glazing": {1.5, 3.5, 6.5},
		// Mixed blocks, masses and sealing not printed; the mass rule is the test that counts.
		"heavy": {1.5, 4, 5},
		// An estimate, labelled so, which says its bias in its notes.
		"impact_timber": {4, 4.5, 5},
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
		if a.N > 4 && a.SourceOutRMSDB > limit.rms+1 {
			t.Errorf("%s: r.m.s. %.2f dB when the constants are chosen without the source of the row, limit %.2f", a.Family, a.SourceOutRMSDB, limit.rms+1)
		}
		if a.HeldOutN > 0 && (math.Abs(a.HeldOutBiasDB) > limit.bias+1 || a.HeldOutRMSDB > limit.rms+1) {
			t.Errorf("%s: held-out rows bias %.2f, r.m.s. %.2f dB; limits %+v and 1 dB more", a.Family, a.HeldOutBiasDB, a.HeldOutRMSDB, limit)
		}
		if math.Abs(a.BiasDB) > limit.bias || a.RMSDB > limit.rms || a.OctaveRMSDB > limit.octaves {
			t.Errorf("%s: bias %.2f, r.m.s. %.2f, octaves %.2f dB; limits %+v", a.Family, a.BiasDB, a.RMSDB, a.OctaveRMSDB, limit)
		}
		if a.OctaveRestRMSDB > 5 || a.HeldOutOctaveRMSDB > 5 {
			t.Errorf("%s: octaves %.2f dB without rows that others contradict, %.2f dB held out; limit 5", a.Family, a.OctaveRestRMSDB, a.HeldOutOctaveRMSDB)
		}
	}
	if seen != len(limits) {
		t.Errorf("only %d of %d families have rows", seen, len(limits))
	}
}

// The rows that are said to contradict like rows do: their measured values differ by more than what distinguishes them can be worth. No model
// enters here.
func TestRowsThatContradict(t *testing.T) {
	_, rows, err := acoustics.Validate(testdata.Files)
	if err != nil {
		t.Fatal(err)
	}
	list, err := acoustics.Contradictions(rows)
	if err != nil {
		t.Fatal(err)
	}
	b65 := 0
	for _, c := range list {
		t.Logf("%s less %s: %v dB at %v, %s", c.Row, c.Like, c.Measured, c.Hz, c.Why)
		if c.Row == "B65" {
			b65++
		}
	}
	if b65 != 3 || len(list) < 9 {
		t.Errorf("%d pairs contradict, %d of them with B65: the limits or the rows have changed", len(list), b65)
	}
}

// Rows held out are counted apart, and all of them are: calc validate prints how many, and no other figure holds them. Their
// effect on the choice of constants is none by construction: sourceLeftOut skips them.
func TestHeldOutRowsAreApart(t *testing.T) {
	list, rows, err := acoustics.Validate(testdata.Files)
	if err != nil {
		t.Fatal(err)
	}
	held := 0
	for _, r := range rows {
		if r.HeldOut != "" {
			held++
		}
	}
	counted := 0
	for _, a := range list {
		counted += a.HeldOutN
	}
	if held < 40 || counted != held {
		t.Errorf("%d rows held out, %d counted", held, counted)
	}
}

// The claimed uncertainty holds: about 68 % of the rows lie within u and 95 % within 2u (normal law); 60 % and 90 % at least, and not so many
// that u says nothing.
func TestUncertaintyCovers(t *testing.T) {
	_, rows, err := acoustics.Validate(testdata.Files)
	if err != nil {
		t.Fatal(err)
	}
	one, two, n := acoustics.Coverage(rows)
	t.Logf("%d of %d rows within u, %d within 2u", one, n, two)
	if n < 80 || one*100 < 60*n || two*100 < 90*n || one*100 > 90*n {
		t.Errorf("%d of %d rows within u, %d within 2u", one, n, two)
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
