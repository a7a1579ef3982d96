package jobs_test

import (
	"testing"

	"tacet/jobs"
)

// What a spreadsheet takes for a formula begins with one of these; a line feed or a tab before it is skipped by some.
func TestCell(t *testing.T) {
	for _, s := range []string{"=1+1", "+1", "-1", "@A1", "\t=1+1", "\r=1+1", "\n=1+1"} {
		if got := jobs.Cell(s); got != "'"+s {
			t.Errorf("%q became %q", s, got)
		}
	}
	for _, s := range []string{"", "W1", "1 = 1", "'=1+1"} {
		if got := jobs.Cell(s); got != s {
			t.Errorf("%q became %q", s, got)
		}
	}
}
