package jobs_test

import (
	"testing"

	"tacet/jobs"
)

// Costs are shown in the currency of the quotes, where these agree.
func TestCurrencyOfAJob(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	for _, step := range []struct{ quote, want string }{
		{`{"do":"quote","price":100}`, ""},
		{`{"do":"quote","surface":"F1","price":100,"currency":"GBP"}`, "GBP"},
		{`{"do":"quote","surface":"C1","price":110,"currency":"GBP"}`, "GBP"},
		{`{"do":"quote","price":120,"currency":"EUR"}`, ""},
	} {
		d.record(step.quote)
		if got := d.job.Currency(); got != step.want {
			t.Errorf("after %s: %q, want %q", step.quote, got, step.want)
		}
	}
}
