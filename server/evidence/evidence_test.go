package evidence_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

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
