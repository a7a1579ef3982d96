package jobs_test

import (
	"testing"

	"tacet/jobs"
)

// A body that is held back or erased leaves its envelope: the job folds, views and exports without it, whatever its kind.
func TestBodiesThatAreGone(t *testing.T) {
	all := story(t)
	for i := range all {
		part := make([]jobs.Entry, len(all))
		copy(part, all)
		bare, err := jobs.ParseEntry(all[i].Env, nil)
		if err != nil {
			t.Fatal(err)
		}
		part[i] = bare
		j := jobs.Fold(jobID, company, part)
		if j.Unread != 1 {
			t.Errorf("%s without a body: %d not readable, want 1", bare.Kind, j.Unread)
		}
		for _, kind := range jobs.Kinds() {
			for _, r := range j.Of(kind) {
				if r.What == nil {
					t.Errorf("a %s without a body is listed as readable", kind)
				}
			}
		}
		j.View()
		export(t, j)
		if _, err := j.History(); err != nil {
			t.Error(err)
		}
	}
}
