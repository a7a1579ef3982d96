package outcomes_test

import (
	"testing"

	"tacet/jobs/outcomes"
	"tacet/testdata"
)

// Every published value of statistics is met, each with its source.
func TestPublished(t *testing.T) {
	values, err := outcomes.Verify(testdata.Files)
	if err != nil || len(values) == 0 {
		t.Fatalf("%d values, %v", len(values), err)
	}
	for _, v := range values {
		if !v.OK || v.Source == "" {
			t.Errorf("%s: %s = %v, want %v ± %v (%s)", v.Name, v.Key, v.Got, v.Expected, v.Tolerance, v.Source)
		}
	}
}
