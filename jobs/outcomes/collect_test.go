package outcomes_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/jobs/outcomes"
)

// The story of the invented firm: a ceiling with a fault put right, two tests, a complaint in month three, closed as ours.
func TestCollect(t *testing.T) {
	s := newSite(t, 1, house)
	s.record(`{"do":"baseline","answers":{"voices":8,"bass":6,"footsteps":9,"pipes":5}}`)
	s.record(`{"do":"sign","surface":"W1","name":"Odette Fenwarden","role":"client","statement":"declined","what":"lining the return wall"}`)
	s.record(`{"do":"sound_test","quantity":"dntw_ctr","value_db":33,"source_room":"upstairs","receiving_room":"living","surfaces":["C1"],"body":"Saltgate Test Room"}`)
	s.build("2026-03-10")
	fail := s.record(`{"do":"check","surface":"C1","layer":5,"check":"K28","result":"fail","measured":{"gap_mm":5,"length_m":2},"evidence":3}`)
	s.record(`{"do":"put_right","over":"` + fail + `","cause":"haste","hours":3,"cost":120}`)
	s.record(`{"do":"sound_test","quantity":"dntw_ctr","value_db":47,"source_room":"upstairs","receiving_room":"living","surfaces":["C1","F1"],"body":"Saltgate Test Room","at":"2026-03-20T10:00:00Z"}`)
	s.record(`{"do":"sound_test","quantity":"rw","value_db":50,"source_room":"x","receiving_room":"y","surfaces":[],"body":"Saltgate Test Room"}`)
	s.record(`{"do":"follow_up","month":1,"answers":{"voices":2,"bass":5,"footsteps":3,"pipes":4},"at":"2026-04-10T10:00:00Z"}`)
	words := s.record(`{"do":"complaint","words":"water at night","kind":"pipes","received":"2026-06-10","surface":"C1"}`)
	s.record(`{"do":"outcome","over":"` + words + `","outcome":"ours_put_right","cause":"not_built_as_specified","confidence":"opened"}`)
	s.record(`{"do":"put_right","over":"` + words + `","cause":"method","hours":2}`)
	s.record(`{"do":"follow_up","month":12,"answers":"no_reply"}`)
	s.record(`{"do":"follow_up","month":12,"answers":{"voices":9},"other_side":true}`)
	f := outcomes.Collect(s.job)

	families := map[string]string{"C1": "C-clip-2m-joists", "F1": "F-floating-1-joists", "W1": "W-independent-2-masonry"}
	for _, p := range f.Parts {
		if p.Family.Code != families[p.Surface] {
			t.Errorf("%s is of family %s, want %s (%s)", p.Surface, p.Family.Code, families[p.Surface], p.Family.Words)
		}
		if p.Fitter != "Pavo" || p.Evidence == nil {
			t.Errorf("%s: fitter %q, evidence %v", p.Surface, p.Fitter, p.Evidence)
		}
	}
	c1 := f.Parts[0]
	if w1 := f.Parts[2]; w1.MarginDB != nil {
		t.Errorf("W1: flanking is not known, yet it has a margin of %v dB", *w1.MarginDB)
	}
	if c1.Failed != 1 || c1.Covered == 0 || c1.Unseen == 0 || c1.MarginDB == nil || c1.Frozen {
		t.Errorf("C1: %+v: its last board failed a check, its layers were covered unseen, and nothing was frozen", c1)
	}
	if f.Finished == nil || f.Finished.Format("2006-01-02") != "2026-03-10" || f.Declined != 1 {
		t.Errorf("finished %v, declined %d", f.Finished, f.Declined)
	}
	want := s.job.PredictSpecified(s.job.Surface("C1")).DnTwCtrDB
	if tt := f.Tests[0]; !tt.Early || tt.PredictedDB != nil || tt.MeasuredDB != 33 {
		t.Errorf("a test before the work is held against the prediction of the finished work: %+v", tt)
	}
	if tt := f.Tests[1]; tt.Family != "C-clip-2m-joists" || tt.PredictedDB == nil || *tt.PredictedDB != *want || tt.MeasuredDB != 47 || tt.Partial || *tt.LimitDB != 43 || tt.UDB == nil {
		t.Errorf("first test: %+v, want a prediction of %v", tt, *want)
	}
	if tt := f.Tests[2]; tt.PredictedDB != nil || tt.Family != "" {
		t.Errorf("a test of no surface is held against nothing: %+v", tt)
	}
	if c := f.Complaints[0]; c.Kind != "pipes" || !c.Ours() || c.At.Format("2006-01-02") != "2026-06-10" {
		t.Errorf("complaint: %+v", c)
	}
	if after, ok := f.FollowUps[0].Answers["voices"]; len(f.FollowUps) != 2 || !ok || after != 2 {
		t.Errorf("the neighbours' answer is none of the client's: %+v", f.FollowUps)
	}
	if len(f.Cures) != 2 || f.Cures[0].Check != "K28" || f.Cures[0].Late || f.Cures[0].Hours != 3 || !f.Cures[1].Late {
		t.Errorf("put right: %+v", f.Cures)
	}
	sum := outcomes.Summarise([]outcomes.Facts{f})
	if sum.Jobs.Known != 1 || sum.Jobs.Tested != 1 || sum.Jobs.Unmatched != 1 || sum.Jobs.Early != 1 {
		t.Errorf("%+v", sum.Jobs)
	}
	for _, fam := range sum.Families {
		events := map[bool]int{true: 1}[fam.Code == "C-clip-2m-joists"]
		if fam.Jobs != 1 || fam.Complaints.Events != events || fam.Complaints.N != 1 || fam.Complaints.Share != nil {
			t.Errorf("%s: %+v", fam.Code, fam.Complaints)
		}
	}
	// Complaint 92 days after the end, in months of 30.4375 days.
	if steps := sum.Complaints.Free.Steps; len(steps) != 1 || math.Abs(steps[0].Time-91.58/30.4375) > 0.03 {
		t.Errorf("curve: %+v", steps)
	}
}

// What is not a complaint in the end is none; what names no surface leaves the parts of a job unknown; no reply is no reply.
func TestStandings(t *testing.T) {
	complain := func(s *site, surface, outcome string) {
		on := ""
		if surface != "" {
			on = `,"surface":"` + surface + `"`
		}
		id := s.record(`{"do":"complaint","words":"voices","kind":"voices","received":"2026-05-01"` + on + `}`)
		if outcome != "" {
			s.record(`{"do":"outcome","over":"` + id + `","outcome":"` + outcome + `","cause":"expectation","confidence":"guessed"}`)
		}
	}
	for _, c := range []struct {
		name                   string
		after                  func(*site)
		events, n, unknown     int // of the job
		wallN, wallUnknown, in int // of its wall, and complaints in it
	}{
		{"nobody asked", func(*site) {}, 0, 0, 1, 0, 1, 0},
		{"no reply", func(s *site) { s.record(`{"do":"follow_up","month":1,"answers":"no_reply"}`) }, 0, 0, 1, 0, 1, 0},
		{"answered", func(s *site) { s.record(`{"do":"follow_up","month":1,"answers":{"voices":1}}`) }, 0, 1, 0, 1, 0, 0},
		{"complaint of the wall", func(s *site) { complain(s, "W1", "") }, 1, 1, 0, 1, 0, 1},
		{"complaint of no surface", func(s *site) { complain(s, "", "ours_not_put_right") }, 1, 1, 0, 0, 1, 0},
		{"answered, then a complaint of no surface", func(s *site) {
			s.record(`{"do":"follow_up","month":1,"answers":{"voices":1}}`)
			complain(s, "", "")
		}, 1, 1, 0, 0, 1, 0},
		{"a query, explained", func(s *site) { complain(s, "W1", "query_explained") }, 0, 0, 1, 0, 1, 0},
		{"withdrawn, then answered", func(s *site) {
			complain(s, "W1", "withdrawn")
			s.record(`{"do":"follow_up","month":3,"answers":{"voices":1}}`)
		}, 0, 1, 0, 1, 0, 0},
	} {
		s := newSite(t, 2, house)
		s.build("2026-03-10")
		s.passStops()
		c.after(s)
		sum := outcomes.Summarise([]outcomes.Facts{outcomes.Collect(s.job)})
		if r := sum.Complaints.Any; r.Events != c.events || r.N != c.n || r.Unknown != c.unknown {
			t.Errorf("%s: job %d of %d, %d unknown; want %d of %d, %d", c.name, r.Events, r.N, r.Unknown, c.events, c.n, c.unknown)
		}
		for _, f := range sum.Families {
			if r := f.Complaints; f.Code == "W-independent-2-masonry" && (r.N != c.wallN || r.Unknown != c.wallUnknown || r.Events != c.in) {
				t.Errorf("%s: wall %d of %d, %d unknown; want %d of %d, %d", c.name, r.Events, r.N, r.Unknown, c.in, c.wallN, c.wallUnknown)
			}
		}
	}
}

func TestStillWorkedOn(t *testing.T) {
	s := newSite(t, 3, house)
	s.record(`{"do":"install","surface":"W1","layer":1,"share":1}`)
	sum := outcomes.Summarise([]outcomes.Facts{outcomes.Collect(s.job)})
	if sum.Jobs.Running != 1 || sum.Jobs.Over != 0 || sum.Complaints.Any.Unknown != 0 {
		t.Errorf("%+v %+v", sum.Jobs, sum.Complaints.Any)
	}
}

// Where everything is in place and a stop check is open, the job is on hold and not finished: nobody is asked about it yet, and it is not counted
// among those of which nobody heard. It ends by the checks, by somebody's word afterwards, or by the client's.
func TestOnHoldIsNotFinished(t *testing.T) {
	for _, c := range []struct {
		name string
		ends func(*site)
	}{
		{"the checks passed", func(s *site) { s.passStops() }},
		{"somebody answered", func(s *site) { s.record(`{"do":"follow_up","month":1,"answers":{"voices":1}}`) }},
		{"the client accepted", func(s *site) {
			s.record(`{"do":"sign","name":"Odette Fenwarden","role":"client","statement":"accepted","what":"the work"}`)
		}},
	} {
		s := newSite(t, 5, house)
		s.build("2026-03-10")
		f := outcomes.Collect(s.job)
		sum := outcomes.Summarise([]outcomes.Facts{f})
		if f.Finished != nil || !f.OnHold || sum.Jobs.Running != 1 || sum.Jobs.OnHold != 1 || sum.Jobs.Over != 0 || sum.Complaints.Any.Unknown != 0 {
			t.Errorf("on hold: finished %v, %+v, %d unknown", f.Finished, sum.Jobs, sum.Complaints.Any.Unknown)
		}
		c.ends(s)
		f = outcomes.Collect(s.job)
		sum = outcomes.Summarise([]outcomes.Facts{f})
		if f.Finished == nil || f.OnHold || sum.Jobs.Running != 0 || sum.Jobs.OnHold != 0 || sum.Jobs.Over != 1 {
			t.Errorf("%s: finished %v, %+v", c.name, f.Finished, sum.Jobs)
		}
	}
}

// A surface of which nothing is specified belongs to no family, and a test that names no surface says nothing of work that goes on.
func TestWhatSaysNothingYet(t *testing.T) {
	s := newSite(t, 6, `{"name":"Bare","surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6},
		{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]},{"code":"W2","kind":"wall","width_m":4,"height_m":2.5}]}`)
	s.record(`{"do":"install","surface":"W1","layer":1,"share":1}`)
	s.record(`{"do":"sound_test","quantity":"rw","value_db":50,"source_room":"x","receiving_room":"y","surfaces":[],"body":"Saltgate Test Room"}`)
	f := outcomes.Collect(s.job)
	sum := outcomes.Summarise([]outcomes.Facts{f})
	if len(sum.Families) != 1 || strings.Contains(sum.Families[0].Code, "none") || sum.Jobs.N != 1 {
		t.Errorf("families %+v of %d jobs", sum.Families, sum.Jobs.N)
	}
	if f.Finished != nil || len(f.Tests) != 1 || !f.Tests[0].Early {
		t.Errorf("finished %v by %+v", f.Finished, f.Tests)
	}
}

// A test of one surface does not end a job of which another is not up, nor does a word of acceptance where no layer ever was.
func TestWhatDoesNotEndAJob(t *testing.T) {
	two := `{"name":"Two walls","surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]},
		{"code":"W2","kind":"wall","width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`
	up := func(surface, day string) string {
		return `{"do":"install","surface":"` + surface + `","layer":1,"share":1,"at":"` + day + `T10:00:00Z"}`
	}
	test := func(day string) string {
		return `{"do":"sound_test","quantity":"rw","value_db":31,"source_room":"x","receiving_room":"y","surfaces":["W1"],"body":"Saltgate Test Room","at":"` + day + `T10:00:00Z"}`
	}
	accepted := `{"do":"sign","name":"Odette Fenwarden","role":"client","statement":"accepted","what":"the work"}`
	for _, c := range []struct {
		name     string
		steps    []string
		finished bool
	}{
		{"one wall up and tested", []string{up("W1", "2026-03-01"), test("2026-03-02")}, false},
		{"one wall up and accepted", []string{up("W1", "2026-03-01"), accepted}, true},
		{"tested before the other wall was up", []string{up("W1", "2026-03-01"), test("2026-03-02"), up("W2", "2026-03-03")}, false},
		{"tested when both were up", []string{up("W1", "2026-03-01"), up("W2", "2026-03-03"), test("2026-03-04")}, true},
		{"nothing up, accepted", []string{accepted}, false},
		{"nothing up, tested and accepted", []string{test("2026-03-02"), accepted}, false},
	} {
		s := newSite(t, 8, two)
		for _, step := range c.steps {
			s.record(step)
		}
		f := outcomes.Collect(s.job)
		sum := outcomes.Summarise([]outcomes.Facts{f})
		if (f.Finished != nil) != c.finished || (sum.Jobs.Over == 1) != c.finished {
			t.Errorf("%s: finished %v, on hold %v, %+v", c.name, f.Finished, f.OnHold, sum.Jobs)
		}
	}
}

// The mark on a family is an entry of the supervisor or the office, and only such an entry takes it away.
func TestReviewEntry(t *testing.T) {
	s := newSite(t, 4, house)
	s.build("2026-03-10")
	for _, bad := range []string{`{"do":"review","family":"","flag":"review","reason":"x"}`, `{"do":"review","family":"C clip","flag":"review","reason":"x"}`,
		`{"do":"review","family":"C-clip-2m-joists","flag":"red","reason":"x"}`, `{"do":"review","family":"C-clip-2m-joists","flag":"review"}`} {
		var input *jobs.InputError
		if _, err := s.try(bad, jobs.Owner); !errors.As(err, &input) {
			t.Errorf("%s: %v, want an input error", bad, err)
		}
	}
	mark := `{"do":"review","family":"C-clip-2m-joists","flag":"review","reason":"two of the last eight put right"}`
	if _, err := s.try(mark, jobs.Site); !errors.Is(err, jobs.ErrRefused) {
		t.Errorf("the site marks a family: %v", err)
	}
	state := func() outcomes.ReviewState {
		for _, f := range outcomes.Summarise([]outcomes.Facts{outcomes.Collect(s.job)}).Families {
			if f.Code == "C-clip-2m-joists" {
				return f.Review
			}
		}
		t.Fatal("no such family")
		return outcomes.ReviewState{}
	}
	if state().Marked {
		t.Error("marked before anybody did")
	}
	s.record(mark)
	if r := state(); !r.Marked || r.Reason != "two of the last eight put right" || r.Due {
		t.Errorf("%+v", r)
	}
	s.record(`{"do":"review","family":"C-clip-2m-joists","flag":"cleared","reason":"clip pitch changed"}`)
	if r := state(); r.Marked || r.Reason != "clip pitch changed" {
		t.Errorf("%+v", r)
	}
}

// What a quote froze before the test stands against the measurement, whatever happens to the model or the layers later; a
// quote given after the test, or for other layers, is none.
func TestFrozenPrediction(t *testing.T) {
	test := `{"do":"sound_test","quantity":"dntw_ctr","value_db":47,"source_room":"a","receiving_room":"b","surfaces":["C1"],"body":"Saltgate Test Room","at":"2026-04-20T10:00:00Z"}`
	quote := `{"do":"quote","surface":"C1","price":4200,"currency":"GBP"}`
	respecify := `{"do":"respecify","surface":"C1","reason":"lighter","specified":[
	 {"kind":"cavity","depth_mm":25,"frame":{"kind":"none","mass_kg_m2":2,"resilient":"clip","spacing_mm":400}},{"kind":"board","thickness_mm":12.5,"mass_kg_m2":8.5}]}`
	for _, c := range []struct {
		name   string
		steps  []string
		frozen bool
	}{
		{"quoted, then tested", []string{quote, test}, true},
		{"never quoted", []string{test}, false},
		{"quoted, then other layers", []string{quote, respecify, test}, false},
		{"other layers, then quoted", []string{respecify, quote, test}, true},
		{"quoted twice", []string{quote, quote, test}, true},
	} {
		s := newSite(t, 5, house)
		for i, step := range c.steps {
			if i == len(c.steps)-1 {
				s.build("2026-04-01")
			}
			s.record(step)
		}
		f := outcomes.Collect(s.job)
		if got := f.Tests[0]; got.Frozen != c.frozen || got.PredictedDB == nil {
			t.Errorf("%s: %+v", c.name, got)
		}
		sum := outcomes.Summarise([]outcomes.Facts{f})
		for _, fam := range sum.Families {
			for _, d := range fam.Differences {
				if d.Frozen != map[bool]int{true: 1}[c.frozen] {
					t.Errorf("%s: %d frozen", c.name, d.Frozen)
				}
			}
		}
	}
	late := newSite(t, 6, house)
	late.build("2026-02-20")
	late.record(strings.Replace(test, "2026-04-20", "2026-03-01", 1))
	late.record(quote)
	if outcomes.Collect(late.job).Tests[0].Frozen {
		t.Error("a quote given after the test counts as frozen before it")
	}
}

// An entry whose body is held back or erased says nothing, and breaks nothing.
func TestErasedBodiesSayNothing(t *testing.T) {
	s := newSite(t, 7, house)
	s.record(`{"do":"baseline","answers":{"voices":8}}`)
	s.build("2026-03-10")
	s.record(`{"do":"sound_test","quantity":"dntw_ctr","value_db":47,"source_room":"a","receiving_room":"b","surfaces":["C1"],"body":"x","at":"2026-04-20T10:00:00Z"}`)
	s.record(`{"do":"follow_up","month":1,"answers":{"voices":2}}`)
	words := s.record(`{"do":"complaint","words":"x","kind":"voices","received":"2026-06-10","surface":"C1"}`)
	s.record(`{"do":"outcome","over":"` + words + `","outcome":"ours_put_right","cause":"unknown","confidence":"guessed"}`)
	s.record(`{"do":"put_right","over":"` + words + `","cause":"method","hours":2}`)
	s.record(`{"do":"sign","name":"x","role":"client","statement":"accepted","what":"x"}`)
	s.record(`{"do":"review","family":"C-clip-2m-joists","flag":"review","reason":"x"}`)
	var bare []jobs.Entry
	for _, r := range s.job.Records {
		e := *r.Entry
		switch e.Kind {
		case "job", "room", "structure", "surface", "specify", "install":
		default:
			var err error
			if e, err = jobs.ParseEntry(e.Env, nil); err != nil {
				t.Fatal(err)
			}
		}
		bare = append(bare, e)
	}
	f := outcomes.Collect(jobs.Fold(s.job.ID, company, bare))
	if len(f.Complaints)+len(f.FollowUps)+len(f.Tests)+len(f.Cures)+len(f.Reviews) != 0 || f.Unread != 8 {
		t.Errorf("%+v", f)
	}
}
