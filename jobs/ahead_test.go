package jobs_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
)

// Work can't be done later than now, but for what clocks differ. Our own figure: 10 minutes.
func TestNotAhead(t *testing.T) {
	now := time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC)
	for edge, ahead := range map[string]bool{
		`{"do":"note","text":"x"}`: false, `{"do":"note","text":"x","at":"2026-03-02T14:09:00Z"}`: false, `{"do":"note","text":"x","at":"2026-03-02T15:05:00+01:00"}`: false, `{"do":"note","text":"x","at":"nonsense"}`: false,
		`{"do":"note","text":"x","at":"2026-03-02T14:11:00Z"}`: true, `{"do":"note","text":"x","at":"2027-03-02T14:00:00Z"}`: true, `{"do":"note","text":"x","at":"2026-03-02T14:30:00-01:00"}`: true,
	} {
		err := jobs.NotAhead([]byte(edge), now)
		var in *jobs.InputError
		if ahead != errors.As(err, &in) || ahead && (in.Field != "at" || !strings.Contains(in.Error(), "not later than now")) {
			t.Errorf("%s: %v", edge, err)
		}
	}
}

// What arrives with such a time is taken, and the job says that it looks wrong.
func TestAheadIsShown(t *testing.T) {
	d := newDevice(t, 1, jobs.Site)
	d.start(`{"name":"x","surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":3,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`)
	d.record(`{"do":"install","surface":"W1","layer":1,"share":0.5,"at":"2026-03-02T08:00:00Z"}`)
	if w := d.job.Ahead(); len(w) != 0 {
		t.Errorf("of work before it was recorded: %v", w)
	}
	d.record(`{"do":"install","surface":"W1","layer":1,"share":0.5,"at":"2031-03-02T08:00:00Z"}`)
	if w := d.job.View().Warnings; !strings.Contains(strings.Join(w, "\n"), "W1, layer 1 install is said to be done at 2031-03-02T08:00:00Z, later than it was recorded") {
		t.Errorf("warnings: %v", w)
	}
}
