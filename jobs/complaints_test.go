package jobs_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
)

// The demo's complaint: water at night in month 3, found, put right, closed, and taken up again later.
func TestComplaintFromOpenToReopened(t *testing.T) {
	d := newDevice(t, 1, jobs.Supervisor)
	d.start(house)
	first := d.record(`{"do":"complaint","surface":"C1","words":"water at night","kind":"pipes","received":"2026-06-01","from":"Odette Fenwarden","how":"phone","times":"after ten","severity":5}`)
	files := d.job.Complaints()
	if len(files) != 1 || files[0].State != jobs.ComplaintOpen || files[0].Says() != "open" {
		t.Fatalf("%+v", files)
	}
	d.record(`{"do":"put_right","over":"` + first.ID + `","cause":"method","hours":3,"cost":20}`)
	out := d.record(`{"do":"outcome","over":"` + first.ID + `","outcome":"ours_put_right","cause":"not_built_as_specified","confidence":"opened","found":"clip touching the stud","action":"clip moved","cost":100,"closed_by":"client_agreed"}`)
	f := d.job.Complaints()[0]
	if f.State != jobs.ComplaintClosed || f.Hours != 3 || f.Cost != 120 || f.Outcome() == nil {
		t.Errorf("closed: %+v", f)
	}
	if got, want := f.Says(), "complaint, ours, put right; cause: not built as specified, opened up; closed: the client agreed"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	// A later complaint takes it up again.
	second := d.record(`{"do":"complaint","words":"water again","kind":"pipes","received":"2026-08-01","again":"` + first.ID + `"}`)
	f = d.job.Complaints()[0]
	if f.State != jobs.ComplaintReopened || len(f.Again) != 1 || !strings.HasPrefix(f.Says(), "open again") {
		t.Errorf("reopened: %+v", f)
	}
	if s := d.job.Complaints()[1]; s.Before == nil || s.Before.ID != first.ID || s.State != jobs.ComplaintOpen {
		t.Errorf("the second: %+v", s)
	}
	// A new outcome takes the place of the old one; withdrawing it leaves the complaint open again.
	d.record(`{"do":"outcome","over":"` + second.ID + `","outcome":"not_our_element","cause":"services","confidence":"tested"}`)
	again := d.record(`{"do":"outcome","over":"` + second.ID + `","outcome":"lost_contact","cause":"unknown","confidence":"guessed","closed_by":"time_lapsed"}`)
	if s := d.job.Complaints()[1]; s.State != jobs.ComplaintClosed || len(s.Outcomes) != 1 || s.Outcome().Outcome != "lost_contact" {
		t.Errorf("a later outcome: %+v", s)
	}
	if f := d.job.Complaints()[0]; f.State != jobs.ComplaintClosed {
		t.Errorf("what took it up is closed, and so is it: %+v", f)
	}
	d.record(`{"do":"withdraw","over":"` + again.ID + `","reason":"she called back"}`)
	if s := d.job.Complaints()[1]; s.State != jobs.ComplaintReopened || s.Outcome() != nil {
		t.Errorf("withdrawn: %+v", s)
	}
	if f := d.job.Complaints()[0]; f.State != jobs.ComplaintReopened {
		t.Errorf("what took it up is open again, and so is it: %+v", f)
	}
	if _, err := d.try(`{"do":"complaint","words":"x","kind":"pipes","received":"2026-08-01","again":"` + out.ID + `"}`); err == nil {
		t.Error("taken up again what is no complaint")
	}
	if r := d.job.ByID(out.ID); !strings.Contains(string(must(r.EdgeJSON())), "clip moved") {
		t.Error("the first outcome can no longer be read")
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// Two outcomes recorded side by side that differ leave the complaint open.
func TestTwoOutcomes(t *testing.T) {
	a, b := newDevice(t, 1, jobs.Supervisor), newDevice(t, 2, jobs.Office)
	a.start(house)
	c := a.record(`{"do":"complaint","words":"thud","kind":"footsteps","received":"2026-06-01"}`)
	b.takes(a)
	a.record(`{"do":"outcome","over":"` + c.ID + `","outcome":"ours_put_right","cause":"not_built_as_specified","confidence":"opened"}`)
	b.record(`{"do":"outcome","over":"` + c.ID + `","outcome":"not_our_element","cause":"flanking_missed","confidence":"guessed"}`)
	a.takes(b)
	f := a.job.Complaints()[0]
	if f.State != jobs.ComplaintOpen || !f.Disputed || f.Outcome() != nil {
		t.Errorf("%+v", f)
	}
	a.record(`{"do":"outcome","over":"` + c.ID + `","outcome":"ours_put_right","cause":"not_built_as_specified","confidence":"tested"}`)
	if f := a.job.Complaints()[0]; f.State != jobs.ComplaintClosed || f.Disputed {
		t.Errorf("one that names both: %+v", f)
	}
}

// The wording of outcomes and causes is that of the trade brief; common practice, no source.
func TestOutcomeWording(t *testing.T) {
	says := func(list []jobs.Word) (out []string) {
		for _, w := range list {
			out = append(out, w.Says)
		}
		return out
	}
	if want := []string{"under-specified", "not built as specified", "later damage", "flanking known and declined", "flanking missed", "low-frequency limit", "services", "expectation", "unrelated", "unknown"}; !slices.Equal(says(jobs.OutcomeCauses()), want) {
		t.Errorf("causes %v", says(jobs.OutcomeCauses()))
	}
	if n := len(jobs.OutcomeWords()); n != 7 {
		t.Errorf("%d outcomes beside no complaint, want 7", n)
	}
	d := newDevice(t, 1, jobs.Supervisor)
	d.start(house)
	c := d.record(`{"do":"complaint","words":"thud","kind":"footsteps","received":"2026-06-01"}`)
	for _, o := range jobs.OutcomeWords() {
		for _, cause := range jobs.OutcomeCauses() {
			for _, sure := range jobs.OutcomeConfidences() {
				d.record(fmt.Sprintf(`{"do":"outcome","over":%q,"outcome":%q,"cause":%q,"confidence":%q}`, c.ID, o.Code, cause.Code, sure.Code))
			}
		}
	}
	site := newDevice(t, 2, jobs.Site)
	site.takes(d)
	if _, err := site.try(`{"do":"outcome","over":"` + c.ID + `","outcome":"withdrawn","cause":"unknown","confidence":"guessed"}`); !errors.Is(err, jobs.ErrRefused) {
		t.Errorf("the site closes a complaint: %v", err)
	}
}

// Follow-ups fall due 1, 3 and 12 months after handover; no reply stays no reply (dates are arithmetic).
func TestFollowUpsFallDue(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	at := func(s string) time.Time { return must(time.Parse(time.RFC3339, s)) }
	if due := d.job.Due(at("2030-01-01T00:00:00Z")); due != nil {
		t.Fatalf("due before anything was handed over: %+v", due)
	}
	d.record(`{"do":"sign_off","at":"2026-01-31T12:00:00Z"}`)
	states := func(now string) string {
		var out []string
		for _, x := range d.job.Due(at(now)) {
			out = append(out, fmt.Sprintf("%d %s %s %d", x.Month, x.At.Format(time.DateOnly), x.State, x.DaysLate))
		}
		return strings.Join(out, "; ")
	}
	if got, want := states("2026-02-28T11:59:59Z"), "1 2026-02-28 ahead 0; 3 2026-04-30 ahead 0; 12 2027-01-31 ahead 0"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if got, want := states("2026-05-02T12:00:00Z"), "1 2026-02-28 due 63; 3 2026-04-30 due 2; 12 2027-01-31 ahead 0"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	d.record(`{"do":"follow_up","month":1,"answers":"no_reply"}`)
	d.record(`{"do":"follow_up","month":3,"answers":{"voices":2,"bass":5,"footsteps":3,"pipes":4},"compared":"better","when":["evening"],"new_sounds":"the fridge","recommend":"yes"}`)
	if got, want := states("2026-05-02T12:00:00Z"), "1 2026-02-28 no_reply 0; 3 2026-04-30 answered 0; 12 2027-01-31 ahead 0"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	d.record(`{"do":"follow_up","month":3,"answers":"no_reply"}`)
	if got := states("2026-05-02T12:00:00Z"); !strings.Contains(got, "3 2026-04-30 answered") {
		t.Errorf("a later call that nobody took undid an answer: %s", got)
	}
	if _, err := d.try(`{"do":"follow_up","month":12,"answers":"no_reply","compared":"better"}`); err == nil {
		t.Error("no reply, and yet better")
	}
	// The client's own word counts before the supervisor's.
	d.record(`{"do":"sign","name":"Odette Fenwarden","role":"client","statement":"accepted","what":"the whole job","at":"2026-02-15T09:00:00Z"}`)
	if got := states("2026-03-01T00:00:00Z"); !strings.HasPrefix(got, "1 2026-03-15") {
		t.Errorf("after the client's word: %s", got)
	}
}
