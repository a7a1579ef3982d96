package jobs_test

import (
	"errors"
	"testing"

	"tacet/jobs"
)

// What is tried out shows in the trial and nowhere else, and is refused by the same rules. Masses: invented.
func TestTrial(t *testing.T) {
	j := jobs.NewJob("018f0000-0000-7000-8000-00000000a001", "018f0000-0000-7000-8000-00000000c001")
	a := jobs.Author{Person: "018f0000-0000-7000-8000-00000000b001", Role: jobs.Office}
	one, err := j.Trial(a, []byte(`{"do":"surface","code":"W1","kind":"wall","width_m":4,"height_m":2.5}`))
	if err != nil {
		t.Fatal(err)
	}
	two, err := one.Trial(a, []byte(`{"do":"specify","surface":"W1","specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}`))
	if err != nil {
		t.Fatal(err)
	}
	if len(j.Surfaces) != 0 || len(one.Surfaces) != 1 || len(one.Surface("W1").Specified) != 0 {
		t.Error("a trial changed the job that it was made from")
	}
	if got := two.Surface("W1").SpecifiedMass(); got != 12.6 {
		t.Errorf("the list tried out comes to %v kg/m²", got)
	}
	_, err = one.Trial(jobs.Author{Person: a.Person, Role: jobs.Site}, []byte(`{"do":"surface","code":"W1","kind":"wall","width_m":5,"height_m":2.5}`))
	if !errors.Is(err, jobs.ErrRefused) {
		t.Errorf("a fitter tries to describe a surface anew: %v", err)
	}
	var in *jobs.InputError
	if _, err = one.Trial(a, []byte(`{"do":"specify","surface":"W2","specified":[]}`)); !errors.As(err, &in) {
		t.Errorf("a list for a surface that is not there: %v", err)
	}
}
