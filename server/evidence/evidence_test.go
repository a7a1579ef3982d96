package evidence_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"tacet/acoustics"
	"tacet/server/evidence"
)

// Every published value is met, every run that was kept says what it found, on which commit and when, and the text names them all.
func TestGather(t *testing.T) {
	e, err := evidence.Gather()
	if err != nil {
		t.Fatal(err)
	}
	var text bytes.Buffer
	if err := e.Print(&text); err != nil {
		t.Fatal(err)
	}
	for _, p := range e.Published {
		if p.NotMet() > 0 || len(p.Values) == 0 {
			t.Errorf("%s: %d values, %d not met", p.What, len(p.Values), p.NotMet())
		}
		if !strings.Contains(text.String(), p.What) {
			t.Errorf("the text leaves out %s", p.What)
		}
	}
	if len(e.Runs) == 0 || len(e.Families) == 0 {
		t.Fatalf("%d runs, %d families", len(e.Runs), len(e.Families))
	}
	for _, r := range e.Runs {
		if _, err := time.Parse(time.RFC3339, r.Date); err != nil || len(r.Commit) < 7 || r.Says == "" || r.Result == "" {
			t.Errorf("%+v", r)
		}
	}
}

// A family without rows of a sort has no error there, which is not an error of 0 dB.
func TestNoRowsNoError(t *testing.T) {
	e := evidence.Evidence{Families: []acoustics.Accuracy{{Family: "impact_heavy", N: 1, BiasDB: -1, RMSDB: 1, WorstID: "I01", WorstDB: -1},
		{Family: "glazing", N: 11, RMSDB: 2.9, OctaveN: 4, OctaveRMSDB: 6.2, HeldOutN: 9, HeldOutRMSDB: 1.3, WorstID: "B65", WorstDB: 5}}}
	var text bytes.Buffer
	if err := e.Print(&text); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"impact_heavy 1 -1.0 1.0 0 - 0 - - I01 -1", "glazing 11 +0.0 2.9 4 6.2 9 +0.0 1.3 B65 +5"} {
		if !strings.Contains(strings.Join(strings.Fields(text.String()), " "), want) {
			t.Errorf("no line %q in\n%s", want, text.String())
		}
	}
}

func ExampleGather() {
	e, err := evidence.Gather()
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range e.Published {
		if p.What == "mass_rule" {
			fmt.Printf("%s: %s\n", p.What, p.Values[0].Source)
		}
	}
	// Output: mass_rule: EN 12354-1:2000, Annex B, from memory, sure
}
