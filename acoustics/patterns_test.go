package acoustics_test

import (
	"testing"

	"tacet/acoustics"
)

// Every finding of the literature about differences comes out as it should; sources stand in the patterns.
func TestPatterns(t *testing.T) {
	list, err := acoustics.Patterns()
	if err != nil {
		t.Fatal(err)
	}
	if len(list) < 6 {
		t.Fatalf("only %d patterns", len(list))
	}
	for _, p := range list {
		t.Log(p.Name, p.Steps)
		if !p.OK || p.Source == "" || len(p.Steps) < 2 {
			t.Errorf("%s: %v, expected: %s; source %q", p.Name, p.Steps, p.Expected, p.Source)
		}
	}
}
