package pages_test

import (
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// A job of which nothing is described or specified is neither in place nor ready to be handed over; its pages say what comes first instead of
// showing tables of nothing.
func TestABareJobSaysWhatComesFirst(t *testing.T) {
	const bare, begun, half = "018f0000-0000-7000-8000-0000000e0001", "018f0000-0000-7000-8000-0000000e0002", "018f0000-0000-7000-8000-0000000e0003"
	const wall = `{"code":"%","kind":"wall","width_m":4,"height_m":2.5,"specified":[]}`
	const specified = `{"code":"W2","kind":"wall","width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}`
	w := pagestest.New(t, pagestest.Options{})
	w.Record(pagestest.Maren, jobs.Supervisor, bare, `{"do":"job","name":"4 Tannery Yard"}`)
	w.ImportJSON(begun, []byte(`{"name":"5 Tannery Yard","surfaces":[`+strings.ReplaceAll(wall, "%", "W1")+`]}`))
	w.ImportJSON(half, []byte(`{"name":"6 Tannery Yard","surfaces":[`+strings.ReplaceAll(wall, "%", "W1")+`,`+specified+`]}`))
	w.As(pagestest.Maren, jobs.Supervisor)
	for _, c := range []struct{ path, answer, first string }{
		{"/jobs/" + bare, "This job has no surface yet.", "/jobs/" + bare + "/surface"},
		{"/jobs/" + bare + "/handover", "This job has no surface yet: there is nothing to hand over.", "/jobs/" + bare + "/surface"},
		{"/jobs/" + bare + "/take-off", "Nothing is specified: there is nothing to order.", "/jobs/" + bare + "/surface"},
		{"/jobs/" + begun, "Nothing is specified yet.", "/jobs/" + begun + "/s/W1/specify"},
		{"/jobs/" + begun + "/take-off", "Nothing is specified: there is nothing to order.", "/jobs/" + begun + "/s/W1/specify"},
		{"/jobs/" + begun + "/s/W1/prediction", "Nothing is specified for W1 yet: there is nothing to predict.", "/jobs/" + begun + "/s/W1/specify"},
	} {
		doc := page(t, w, c.path)
		if got := doc.one(t, "h1").words(); got != c.answer {
			t.Errorf("%s answers %q", c.path, got)
		}
		if do := doc.one(t, ".do"); do.attr["href"] != c.first {
			t.Errorf("%s leads to %q first", c.path, do.attr["href"])
		}
		if n := len(doc.all("table")); n > 0 {
			t.Errorf("%s has %d tables", c.path, n)
		}
	}
	w.Record(pagestest.Idris, jobs.Site, half, `{"do":"install","surface":"W2","layer":1,"share":1}`)
	w.As(pagestest.Maren, jobs.Supervisor)
	if got := page(t, w, "/jobs/"+half).one(t, "h1").words(); strings.Contains(got, "All that is specified") {
		t.Errorf("one of two surfaces has no layers: %q", got)
	}
	w.As(pagestest.Idris, jobs.Site)
	if n := len(page(t, w, "/jobs/"+bare).all(".do")); n > 0 {
		t.Error("whoever may not describe is led to it")
	}
}

// The survey's first line counts what is left to settle, and says it in words where nothing is.
func TestSurveySaysWhatIsLeft(t *testing.T) {
	const id = "018f0000-0000-7000-8000-0000000e0004"
	w := pagestest.New(t, pagestest.Options{})
	w.Record(pagestest.Maren, jobs.Supervisor, id, `{"do":"job","name":"7 Tannery Yard"}`)
	answer := func() string {
		w.As(pagestest.Maren, jobs.Supervisor)
		return page(t, w, "/jobs/"+id+"/survey").one(t, "h1").words()
	}
	if got := answer(); got != "Nothing is recorded from before the work." {
		t.Errorf("before anything: %q", got)
	}
	w.Record(pagestest.Maren, jobs.Supervisor, id, `{"do":"survey","category":"service","finding":"Four downlights","known":"seen","settled":true}`)
	if got := answer(); got != "1 finding, none left to settle." {
		t.Errorf("one, settled: %q", got)
	}
	w.Record(pagestest.Maren, jobs.Supervisor, id, `{"do":"survey","category":"agreement","finding":"Where the sheets stand","known":"guessed"}`)
	if got := answer(); got != "2 findings, 1 assumed, 1 still to be settled." {
		t.Errorf("two, one of them open and guessed: %q", got)
	}
}
