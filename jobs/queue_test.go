package jobs_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
)

func queueOf(items []jobs.QueueItem) string {
	var out []string
	for _, i := range items {
		out = append(out, fmt.Sprintf("%s%d %s", i.Surface.Code, i.Layer.N, i.Why))
	}
	return strings.Join(out, ", ")
}

// The queue is in the order of the planned covering; what was covered unseen stays in it until somebody looked into it, and
// stays counted after that.
func TestQueueOrder(t *testing.T) {
	site, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Supervisor)
	sup.start(house)
	site.takes(sup)
	for _, e := range []string{
		`{"do":"install","surface":"C1","layer":1,"share":1}`,
		`{"do":"ready","surface":"C1","layer":1}`,
		`{"do":"install","surface":"C1","layer":4,"share":1}`,
		`{"do":"ready","surface":"C1","layer":4,"cover_at":"2026-03-02T16:00:00Z"}`,
		`{"do":"install","surface":"F1","layer":1,"share":1}`,
		`{"do":"ready","surface":"F1","layer":1,"cover_at":"2026-03-02T14:30:00+01:00"}`,
		`{"do":"install","surface":"C1","layer":3,"share":1}`,
	} {
		site.record(e)
	}
	want := "F11 ready, C14 ready, C11 ready, C13 covered_unseen"
	if got := queueOf(site.job.Queue()); got != want {
		t.Fatalf("queue %s, want %s", got, want)
	}
	if n := site.job.CoveredUnseen(); n != 1 {
		t.Errorf("%d covered unseen, want 1", n)
	}
	sup.takes(site)
	coming := sup.record(`{"do":"audit","surface":"F1","layer":1,"answer":"coming"}`)
	if i := sup.job.Queue()[0]; i.Answer == nil || i.Answer.ID != coming.ID {
		t.Errorf("on the way is not said: %+v", i)
	}
	sup.record(`{"do":"audit","surface":"F1","layer":1,"answer":"cover"}`)
	ask := sup.record(`{"do":"audit","surface":"C1","layer":3,"answer":"put_right","note":"open it at the north edge"}`)
	if got, want := queueOf(sup.job.Queue()), "C14 ready, C11 ready"; got != want {
		t.Errorf("answered: %s, want %s", got, want)
	}
	site.takes(sup)
	site.record(`{"do":"put_right","over":"` + ask.ID + `","cause":"haste","hours":3}`)
	if got, want := queueOf(site.job.Queue()), "C14 ready, C11 ready, C13 put_right"; got != want {
		t.Errorf("put right: %s, want %s", got, want)
	}
	sup.takes(site)
	sup.record(`{"do":"audit","surface":"C1","layer":3,"answer":"cover"}`)
	if got, want := queueOf(sup.job.Queue()), "C14 ready, C11 ready"; got != want {
		t.Errorf("accepted: %s, want %s", got, want)
	}
	if n := sup.job.CoveredUnseen(); n != 1 {
		t.Errorf("%d covered unseen after it was looked into, want 1", n)
	}
}

// Whoever put a layer right, checked it and said again that it is ready, but not over which record it was put right, is seen.
func TestReadyAgain(t *testing.T) {
	site, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Supervisor)
	sup.start(house)
	site.takes(sup)
	site.record(`{"do":"install","surface":"C1","layer":1,"share":1}`)
	site.record(`{"do":"ready","surface":"C1","layer":1,"cover_at":"2026-03-02T14:00:00Z"}`)
	sup.takes(site)
	sup.record(`{"do":"audit","surface":"C1","layer":1,"answer":"put_right","note":"wool is short at the bay"}`)
	if got := queueOf(sup.job.Queue()); got != "" {
		t.Errorf("answered, and waits still: %s", got)
	}
	site.takes(sup)
	site.record(`{"do":"check","surface":"C1","layer":1,"check":"K16","result":"pass","evidence":1}`)
	site.record(`{"do":"ready","surface":"C1","layer":1,"cover_at":"2026-03-02T16:00:00Z"}`)
	sup.takes(site)
	q := sup.job.Queue()
	if got := queueOf(q); got != "C11 ready" {
		t.Fatalf("ready again: %q waits", got)
	}
	if s := sup.job.Surface("C1").Layer(1).State; s != jobs.ToPutRight {
		t.Errorf("the layer is %s: nobody said that it was put right", s)
	}
	if !q[0].CoverFrom.IsZero() || !strings.HasPrefix(q[0].Rule, "Not covered without an answer") || q[0].CoverAt.Hour() != 16 {
		t.Errorf("without an answer: %s, from %v, meant to be covered at %v", q[0].Rule, q[0].CoverFrom, q[0].CoverAt)
	}
	sup.record(`{"do":"audit","surface":"C1","layer":1,"answer":"cover"}`)
	if got := queueOf(sup.job.Queue()); got != "" {
		t.Errorf("let be covered, and waits still: %s", got)
	}
}

// Without an answer nothing with a stop item is covered, and nothing without full evidence; the firm may change the hours.
func TestRuleForNoAnswer(t *testing.T) {
	site, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Supervisor)
	sup.start(house)
	site.takes(sup)
	item := func(n int) jobs.QueueItem {
		t.Helper()
		for _, i := range site.job.Queue() {
			if i.Layer.N == n {
				return i
			}
		}
		t.Fatalf("layer %d is not in the queue", n)
		return jobs.QueueItem{}
	}
	for _, n := range []string{"1", "3"} {
		site.record(`{"do":"install","surface":"C1","layer":` + n + `,"share":1}`)
		site.record(`{"do":"ready","surface":"C1","layer":` + n + `,"at":"2026-03-02T10:00:00Z"}`)
	}
	if i := item(3); !i.CoverFrom.IsZero() || !strings.Contains(i.Rule, "K19 and K23 are stop checks.") {
		t.Errorf("layer 3 has stop items: %v %s", i.CoverFrom, i.Rule)
	}
	if i := item(1); !i.CoverFrom.IsZero() || !strings.Contains(i.Rule, "K16 has no evidence of strength 3") {
		t.Errorf("layer 1 has no evidence yet: %v %s", i.CoverFrom, i.Rule)
	}
	site.record(`{"do":"check","surface":"C1","layer":1,"check":"K16","result":"pass","evidence":3,"measured":{"depth_mm":100},"photos":["` + photo + `"]}`)
	site.record(`{"do":"check","surface":"C1","layer":1,"check":"K17","result":"pass","evidence":3,"certificate":"photo log 4","photos":["` + photo + `"]}`)
	if i, want := item(1), time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC); !i.CoverFrom.Equal(want) {
		t.Errorf("layer 1 may be covered from %v, want %v (2 h): %s", i.CoverFrom, want, i.Rule)
	}
	if _, err := site.try(`{"do":"firm_rule","cover_after_h":0.5}`); err == nil {
		t.Error("the site changes the firm's rule")
	}
	sup.takes(site)
	sup.record(`{"do":"firm_rule","cover_after_h":4,"reason":"one supervisor this week"}`)
	site.takes(sup)
	if i, want := item(1), time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC); !i.CoverFrom.Equal(want) {
		t.Errorf("layer 1 may be covered from %v, want %v (4 h)", i.CoverFrom, want)
	}
	sup.takes(site)
	sup.record(`{"do":"firm_rule","cover_after_h":0}`)
	site.takes(sup)
	if i := item(1); !i.CoverFrom.IsZero() {
		t.Errorf("layer 1 may be covered though the firm says never: %s", i.Rule)
	}
	// Two who change it side by side: the stricter holds until one has seen both.
	other := newDevice(t, 5, jobs.Owner)
	other.takes(sup)
	sup.record(`{"do":"firm_rule","cover_after_h":1,"sample_one_in":2}`)
	other.record(`{"do":"firm_rule","cover_after_h":3}`)
	site.takes(sup, other)
	r := site.job.FirmRule(jobs.DefaultFirmRule())
	if *r.CoverAfterH != 3 || *r.SampleOneIn != 2 {
		t.Errorf("the stricter of two: %v h, 1 in %d", *r.CoverAfterH, *r.SampleOneIn)
	}
}

// The company's own job gives the rule for all jobs.
func TestFirmRuleOfTheCompany(t *testing.T) {
	firm := newDevice(t, 9, jobs.Owner)
	draft, err := jobs.Compose(jobs.NewJob(company, company), jobs.Author{Person: firm.by, Role: jobs.Owner}, []byte(`{"do":"firm_rule","sample_one_in":1,"new_fitter_surfaces":0}`))
	if err != nil {
		t.Fatal(err)
	}
	e, err := jobs.NewEntry(jobs.Envelope{ID: "0197a000-0001-7000-8000-0000000d0009", Co: company, Job: company, Dev: firm.id, Seq: 1, Run: 1, Clk: 1, By: firm.by, Role: jobs.Owner, Kind: draft.Kind, KV: draft.KV}, draft.Body)
	if err != nil {
		t.Fatal(err)
	}
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	d.record(`{"do":"install","surface":"C1","layer":1,"share":1}`)
	d.record(`{"do":"ready","surface":"C1","layer":1}`)
	q := jobs.Queue([]*jobs.Job{d.job, jobs.Fold(company, company, []jobs.Entry{e})})
	if len(q) != 1 || !q[0].Look || q[0].Because != "drawn, 1 surface in 1" {
		t.Errorf("%+v", q)
	}
}

// rows is a job of n walls, a board on each.
func rows(n int) string {
	var s []string
	for i := 1; i <= n; i++ {
		s = append(s, fmt.Sprintf(`{"code":"W%d","kind":"wall","width_m":4,"height_m":2.5,"specified":[{"kind":"membrane","thickness_mm":5.3,"mass_kg_m2":10}]}`, i))
	}
	return `{"name":"rows","surfaces":[` + strings.Join(s, ",") + `]}`
}

// The first three surfaces of a fitter are all looked at, then 1 in 4, 1 in 2 after a fault, 1 in 4 again after five clean.
func TestSampling(t *testing.T) {
	site, sup := newDevice(t, 1, jobs.Site), newDevice(t, 2, jobs.Supervisor)
	sup.start(rows(40))
	site.takes(sup)
	next := 0
	work := func() jobs.QueueItem {
		t.Helper()
		next++
		code := fmt.Sprintf("W%d", next)
		site.takes(sup)
		site.record(`{"do":"install","surface":"` + code + `","layer":1,"share":1,"by":"Pavo"}`)
		site.record(`{"do":"ready","surface":"` + code + `","layer":1}`)
		sup.takes(site)
		for _, i := range site.job.Queue() {
			if i.Surface.Code == code {
				return i
			}
		}
		t.Fatalf("%s is not in the queue", code)
		return jobs.QueueItem{}
	}
	answer := func(what string) {
		sup.record(fmt.Sprintf(`{"do":"audit","surface":"W%d","layer":1,"answer":%q,"note":"seen"}`, next, what))
	}
	expect := func(says string) {
		t.Helper()
		if i := work(); !strings.Contains(i.Because, says) {
			t.Errorf("%s: %s, want %s", i.Surface.Code, i.Because, says)
		}
	}
	for n := 1; n <= 3; n++ {
		i := work()
		if !i.Look || !strings.Contains(i.Because, fmt.Sprintf("surface %d of a fitter", n)) {
			t.Errorf("surface %d of a new fitter: %v %s", n, i.Look, i.Because)
		}
		answer("cover")
	}
	expect("1 surface in 4")
	answer("put_right")
	for range 5 {
		expect("1 surface in 2")
		answer("cover")
	}
	expect("1 surface in 4")
	// Every replica draws the same, however the entries arrive.
	want := queueOf(site.job.Queue())
	all := slices.Concat(sup.own, site.own)
	r := rand.New(rand.NewPCG(3, 4))
	for range 20 {
		r.Shuffle(len(all), func(i, k int) { all[i], all[k] = all[k], all[i] })
		j := jobs.Fold(jobID, company, all)
		if got := queueOf(j.Queue()); got != want {
			t.Fatalf("another order draws %s, want %s", got, want)
		}
		for _, i := range j.Queue() {
			for _, k := range site.job.Queue() {
				if i.Surface.Code == k.Surface.Code && (i.Look != k.Look || i.Because != k.Because) {
					t.Errorf("%s: %v %s, and %v %s", i.Surface.Code, i.Look, i.Because, k.Look, k.Because)
				}
			}
		}
	}
	// Saying again that a surface is ready draws nothing anew.
	before := work()
	for range 6 {
		site.record(fmt.Sprintf(`{"do":"ready","surface":"W%d","layer":1}`, next))
	}
	for _, i := range site.job.Queue() {
		if i.Surface.Code == before.Surface.Code && i.Look != before.Look {
			t.Error("recorded again until it was not drawn")
		}
	}
}

// Over many hashes about 1 in n is drawn, within five standard deviations of a binomial (arithmetic).
func TestDrawIsEven(t *testing.T) {
	const total = 20000
	for _, n := range []int{1, 2, 4, 10} {
		drawn := 0
		for i := range total {
			if jobs.Drawn(jobs.HashBlob(fmt.Append(nil, i)), n) {
				drawn++
			}
		}
		p := 1 / float64(n)
		if off := math.Abs(float64(drawn) - total*p); off > 5*math.Sqrt(total*p*(1-p)) {
			t.Errorf("1 in %d: %d of %d", n, drawn, total)
		}
	}
}

// A finished job is drawn to be looked at again from its first sign-off; the firm says how many are.
func TestRevisit(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	if d.job.Revisit(jobs.DefaultFirmRule()) {
		t.Error("drawn before it was signed off")
	}
	off := d.record(`{"do":"sign_off"}`)
	if got, want := d.job.Revisit(jobs.DefaultFirmRule()), jobs.Drawn(off.Hash, 10); got != want {
		t.Errorf("drawn %v, want %v", got, want)
	}
	d.record(`{"do":"firm_rule","revisit_one_in":1}`)
	d.record(`{"do":"sign_off"}`)
	if !d.job.Revisit(jobs.DefaultFirmRule()) {
		t.Error("not drawn though every job is")
	}
}

// One photo that stands for two places is shown; for one place it is not.
func TestPhotoDoubts(t *testing.T) {
	d := newDevice(t, 1, jobs.Owner)
	d.start(house)
	d.record(pass("3", "K23"))
	d.record(`{"do":"photo","surface":"C1","layer":3,"check":"K23","file":"` + photo + `"}`)
	if got := d.job.PhotoDoubts(); len(got) != 0 {
		t.Errorf("doubts about one place: %+v", got)
	}
	d.record(pass("5", "K28"))
	got := d.job.PhotoDoubts()
	if len(got) != 1 || len(got[0].Records) != 3 || got[0].Says != "the same photo stands for C1, layer 3, K23 and C1, layer 5, K28" {
		t.Errorf("%+v", got)
	}
}
