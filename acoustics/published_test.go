package acoustics_test

import (
	"testing"

	"tacet/acoustics"
	"tacet/testdata"
)

// Every row of testdata/published is calculated and compared; the source of each expected value stands in its row.
func TestPublishedValues(t *testing.T) {
	rows, err := acoustics.Verify(testdata.Files)
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) < 50 {
		t.Fatalf("only %d published values were found", len(rows))
	}
	for _, r := range rows {
		if !r.OK {
			t.Errorf("%s (%s) %s: %g, want %g within %g; %s", r.Name, r.What, r.Key, r.Got, r.Expected, r.Tolerance, r.Source)
		}
	}
}
