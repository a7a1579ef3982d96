package jobs_test

import (
	"strings"
	"testing"

	"tacet/jobs"
)

// A photo that is older than the layer that it is to show is doubted; one of the same day, of what was delivered, or of a camera that does not say
// is not. The 12 h are our own figure.
func TestPhotoOlderThanItsLayer(t *testing.T) {
	photo := func(n string) string { return jobs.HashBlob([]byte(n)).String() }
	d := newDevice(t, 1, jobs.Site)
	d.start(`{"name":"x","surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":3,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`)
	d.record(`{"do":"deliver","surface":"W1","layer":1,"material":"board","quantity":6,"unit":"sheet","photos":["` + photo("a") + `"],"taken":["2026-02-20T09:00:00Z"],"at":"2026-02-20T09:00:00Z"}`)
	d.record(`{"do":"check","surface":"W1","layer":1,"check":"K22","result":"pass","evidence":2,"photos":["` + photo("b") + `","` + photo("c") + `"],"taken":["","2026-03-02T07:00:00Z"],"at":"2026-03-02T08:10:00Z"}`)
	d.record(`{"do":"install","surface":"W1","layer":1,"share":1,"at":"2026-03-02T08:00:00Z"}`)
	if doubts := d.job.PhotoDoubts(); len(doubts) != 0 {
		t.Errorf("doubted: %+v", doubts)
	}
	d.record(`{"do":"photo","surface":"W1","layer":1,"file":"` + photo("d") + `","taken":["2026-01-10T09:00:00Z"]}`)
	doubts := d.job.PhotoDoubts()
	if len(doubts) != 1 || !strings.Contains(doubts[0].Says, "W1, layer 1 was taken at 2026-01-10T09:00:00Z, more than 12 h before the layer was first recorded in place") {
		t.Errorf("doubts: %+v", doubts)
	}
	if says := d.job.WorkView().PhotoDoubts; len(says) != 1 {
		t.Errorf("the view says %v", says)
	}
	if _, err := d.try(`{"do":"photo","surface":"W1","layer":1,"file":"` + photo("e") + `","taken":["yesterday"]}`); err == nil {
		t.Error("a time that is none was taken")
	}
}
