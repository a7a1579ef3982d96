package pages_test

import (
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
)

// What a fault does is said by what it costs, on the page of what was found wrong as on that of the prediction.
func TestNonConformanceSaysWhatItCosts(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"check","surface":"W1","layer":2,"check":"K23","result":"fail","measured":{"gap_mm":1,"length_m":0.2},"evidence":3,"photos":["`+w.Photo()+`"]}`)
	j := w.JobAs(pagestest.Job)
	var small *jobs.DefectCost
	for _, c := range j.Costs(j.Surface("W1")) {
		if c.On.Check == "K23" {
			small = &c
		}
	}
	if small == nil || small.LossDB == nil || *small.LossDB > 1 {
		t.Fatalf("a slit of 1 mm by 200 mm behind two more layers is no small fault: %+v", small)
	}
	said := ""
	for _, li := range page(t, w, lantern+"/non-conformances").all("li") {
		if words := strings.ReplaceAll(li.words(), "\u202f", " "); strings.HasPrefix(words, "W1, layer 2: K23") {
			said = words
		}
	}
	if want := "By itself it costs " + pages.Decimal(*small.LossDB, 1) + " ± " + pages.Decimal(*small.UDB, 1) + " dB of Rw."; !strings.Contains(said, want) || strings.Contains(said, "most") {
		t.Errorf("it says %q, want %q", said, want)
	}
	// What nobody has a number for says so.
	w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"check","surface":"W1","layer":0,"check":"K14","result":"fail","evidence":1}`)
	if got := page(t, w, lantern+"/non-conformances").words(); !strings.Contains(got, "K14 boxes not back to back on W1: what it costs is not known") {
		t.Errorf("a fault of unknown effect: %s", got)
	}
	// The check itself tells no size: that is the case's.
	if rule, _ := jobs.RuleOf("K23"); strings.Contains(rule.Fault, "most") {
		t.Errorf("K23 says %q", rule.Fault)
	}
}

// A stop is told as what it is now: to be kept to while nothing covers it, to be decided on once something does, over once it is settled.
func TestAStopIsToldAsItStands(t *testing.T) {
	w := lanternWorld(t)
	says := func() string { t.Helper(); return page(t, w, lantern+"/non-conformances").words() }
	const keep, decide, over = "Stop: nothing is covered before it is put right.", "Stop, and it is covered already:", "It was a stop."
	w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"check","surface":"C1","layer":3,"check":"K23","result":"fail","evidence":3}`)
	w.As(pagestest.Maren, jobs.Supervisor)
	before := says()
	if !strings.Contains(before, keep) || strings.Contains(before, over) {
		t.Errorf("while it can be seen: %s", before)
	}
	w.Record(pagestest.Pavo, jobs.Site, pagestest.Job, `{"do":"install","surface":"C1","layer":4,"share":1}`)
	if got := says(); !strings.Contains(got, decide) {
		t.Errorf("once it is covered: %s", got)
	}
	fail := w.JobAs(pagestest.Job).Surface("C1").Check("K23", 3).Heads[0].ID
	w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"put_right","over":"`+fail+`","cause":"haste","hours":1}`)
	if got := says(); !strings.Contains(got, "a supervisor accepts what was put right, or has it opened") || strings.Contains(got, decide) {
		t.Errorf("once it is put right under its cover: %s", got)
	}
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"audit","surface":"C1","layer":3,"answer":"cover"}`)
	if got := says(); !strings.Contains(got, over) || strings.Contains(got, decide) {
		t.Errorf("once it is settled: %s", got)
	}
}

// A supervisor's note is what was seen and why it matters at once: it is read out once.
func TestASupervisorsNoteIsSaidOnce(t *testing.T) {
	w := lanternWorld(t)
	const note = "Open 200 mm at the window."
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"audit","surface":"C1","layer":3,"answer":"put_right","note":"`+note+`"}`)
	w.As(pagestest.Maren, jobs.Supervisor)
	if got := page(t, w, lantern+"/non-conformances").words(); strings.Count(got, note) != 1 {
		t.Errorf("the note stands %d times: %s", strings.Count(got, note), got)
	}
}

// A cost that nobody gave is not a cost of nothing.
func TestPuttingRightCostsWhatWasGiven(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	took := func(cost string) string {
		t.Helper()
		fail := w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"check","surface":"C1","layer":3,"check":"K23","result":"fail","evidence":3}`)[0].ID
		w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"put_right","over":"`+fail+`","cause":"haste","hours":2.5`+cost+`}`)
		_, part, found := strings.Cut(page(t, w, lantern+"/non-conformances").words(), "What putting right took")
		if !found {
			t.Fatal("the page does not say what putting right took")
		}
		return strings.ReplaceAll(part, "\u202f", " ")
	}
	if got := took(""); strings.Contains(got, "0.00") || !strings.Contains(got, "2.5 h") {
		t.Errorf("no cost was given: %s", got)
	}
	if got := took(`,"cost":40`); !strings.Contains(got, "40.00") || !strings.Contains(got, "5 h") {
		t.Errorf("one of two gave a cost: %s", got)
	}
}
