package jobs_test

import (
	"errors"
	"slices"
	"testing"

	"tacet/jobs"
)

// Lines are kept as they were measured, from the edge they were measured from; measured anew they take each other's place.
func TestLinesBehindASurface(t *testing.T) {
	d := newDevice(t, 1, jobs.Site)
	d.start(house)
	d.record(`{"do":"lines","surface":"C1","layer":2,"what":"channel","from":"left","at_mm":[150,550,950]}`)
	d.record(`{"do":"lines","surface":"C1","what":"cable","from":"right","at_mm":[300],"note":"right is the window side"}`)
	first := d.own[len(d.own)-2]
	d.record(`{"do":"lines","surface":"C1","layer":2,"what":"channel","from":"left","at_mm":[140,540,940]}`)
	got := d.job.LinesOf(d.job.Surface("C1"))
	if len(got) != 2 || got[0].What != "cable" || got[1].AtMM[0] != 140 || d.job.InForce(d.job.ByID(first.ID)) {
		t.Fatalf("%+v", got)
	}
	if at := got[0].FromStart(4200); !slices.Equal(at, []float64{3900}) || !got[0].Across() {
		t.Errorf("300 mm from the right of 4200 mm is %v", at)
	}
	if says := d.job.Says(d.job.ByID(first.ID)); says != "channel lines at 150, 550, 950 mm from the left" {
		t.Error(says)
	}
	for name, edge := range map[string]string{
		"beyond the edge":  `{"do":"lines","surface":"C1","what":"stud","from":"left","at_mm":[4201]}`,
		"beyond the foot":  `{"do":"lines","surface":"C1","what":"stud","from":"top","at_mm":[3601]}`,
		"none":             `{"do":"lines","surface":"C1","what":"stud","from":"left","at_mm":[]}`,
		"below zero":       `{"do":"lines","surface":"C1","what":"stud","from":"left","at_mm":[-1]}`,
		"another thing":    `{"do":"lines","surface":"C1","what":"ghost","from":"left","at_mm":[1]}`,
		"no such edge":     `{"do":"lines","surface":"C1","what":"stud","from":"north","at_mm":[1]}`,
		"no surface":       `{"do":"lines","what":"stud","from":"left","at_mm":[1]}`,
		"unknown surface":  `{"do":"lines","surface":"C9","what":"stud","from":"left","at_mm":[1]}`,
		"layer not listed": `{"do":"lines","surface":"C1","layer":9,"what":"stud","from":"left","at_mm":[1]}`,
	} {
		var input *jobs.InputError
		if _, err := d.try(edge); !errors.As(err, &input) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
