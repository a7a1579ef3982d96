package pages_test

import (
	"net/url"
	"strconv"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

const typedX1 = lantern + "/s/X1/typed"

// A sheet that was filled in by pen is one form: what it says is recorded in the order of the work, as from paper, all or nothing.
func TestASheetIsTypedIn(t *testing.T) {
	w := lanternWorld(t)
	doc := page(t, w, typedX1)
	form := url.Values{"by": {"the apprentice"}, "at": {"2026-11-25T09:30"}, "note": {"bay side is damp"}}
	checks := 0
	for _, s := range doc.all("select") {
		form.Set(s.attr["name"], "pass")
		checks++
	}
	for n := 1; n <= 4; n++ {
		form.Set("share."+strconv.Itoa(n), "100")
	}
	if checks < 20 {
		t.Fatalf("the sheet asks %d checks", checks)
	}

	// One number that can't be: nothing is recorded, and its own field says so.
	form.Set("share.3", "120")
	doc = refused(t, post(t, w, typedX1, form))
	if got := doc.one(t, ".errors").all("a")[0]; got.attr["href"] != "#f-share-3" || !strings.Contains(got.words(), "at most 100 %") {
		t.Errorf("the summary says %q and leads to %s", got.words(), got.attr["href"])
	}
	if got := doc.one(t, "#f-share-2").attr["value"]; got != "100" {
		t.Errorf("what was typed came back as %q", got)
	}
	if s := w.JobAs(pagestest.Job).Surface("X1"); s.Layer(1).Share != 0 {
		t.Fatal("a part of the sheet was recorded")
	}

	form.Set("share.3", "50")
	post(t, w, typedX1, form).mustSee(t, lantern+"/s/X1")
	j := w.JobAs(pagestest.Job)
	s := j.Surface("X1")
	for n, share := range []float64{1, 1, 0.5, 1} { // as typed
		if got := s.Layer(n + 1).Share; got != share {
			t.Errorf("layer %d: share %v, want %v", n+1, got, share)
		}
	}
	passed := 0
	for _, c := range s.Checks {
		for _, r := range c.Heads {
			d := r.Common()
			if !d.FromPaper || d.By != "the apprentice" || d.At != "2026-11-25T09:30:00Z" {
				t.Errorf("%s is recorded as %+v", c.Rule.Code, d)
			}
			passed++
		}
	}
	if passed != checks {
		t.Errorf("%d checks are recorded, %d were typed", passed, checks)
	}
	if l := s.Layer(1); l.CoveredUnseen {
		t.Error("a layer whose checks stand on the same sheet counts as covered before they were answered")
	}
	doc = page(t, w, typedX1)
	if len(doc.all("select")) != 0 || doc.one(t, "#f-share-3").attr["value"] != "" {
		t.Error("what is recorded is asked again, or what is missing is not")
	}
	refused(t, post(t, w, typedX1, url.Values{}))
}

// A value without what came of it is asked for.
func TestAValueOnASheetWantsItsResult(t *testing.T) {
	w := lanternWorld(t)
	doc := page(t, w, typedX1)
	for _, in := range doc.all("input") {
		if !strings.HasPrefix(in.attr["name"], "measured.") {
			continue
		}
		doc := refused(t, post(t, w, typedX1, url.Values{in.attr["name"]: {"1"}}))
		if got := doc.one(t, ".errors").words(); !strings.Contains(got, "say what came of it") {
			t.Errorf("%s alone: %q", in.attr["name"], got)
		}
		return
	}
	t.Fatal("the sheet asks no value")
}

// The paper has a box for a check that does not apply, and one place for the reasons.
func TestACheckOnASheetDoesNotApply(t *testing.T) {
	w := lanternWorld(t)
	name := page(t, w, typedX1).all("select")[0].attr["name"]
	code := strings.Split(name, ".")[2]
	doc := refused(t, post(t, w, typedX1, url.Values{name: {"not_applicable"}, "note": {" "}}))
	if got := doc.one(t, ".errors").all("a")[0]; got.attr["href"] != "#f-note" || !strings.Contains(got.words(), "why "+code+" does not apply") {
		t.Errorf("without a reason: %q, leading to %s", got.words(), got.attr["href"])
	}
	post(t, w, typedX1, url.Values{name: {"not_applicable"}, "note": {"no socket in this bay"}}).mustSee(t, lantern+"/s/X1")
	for _, c := range w.JobAs(pagestest.Job).Surface("X1").Checks {
		if c.Rule.Code == code && c.State == jobs.CheckNotApplicable {
			return
		}
	}
	t.Errorf("%s is not recorded as one that does not apply", code)
}

// A sheet on which every line has its answer and its value is typed in within two minutes, in the mean of the four of the demonstration. The time is that of the keystroke-level model (Card,
// Moran and Newell 1980; its figures from memory): 0.28 s a key for somebody who is no typist, and 1.35 s for each line, to find it on the
// paper. Each field is a tab, an answer its first letter; a value has two characters.
func TestASheetTakesTwoMinutes(t *testing.T) {
	w := lanternWorld(t)
	const key, look, limit = 0.28, 1.35, 120.0
	sheets, all := []string{"C1", "F1", "W1", "X1"}, 0.0
	for _, surface := range sheets {
		doc := page(t, w, lantern+"/s/"+surface+"/typed")
		answers, values := len(doc.all("select")), 0
		shares := 0
		for _, in := range doc.all("input") {
			switch name := in.attr["name"]; {
			case strings.HasPrefix(name, "measured."):
				values++
			case strings.HasPrefix(name, "share."):
				shares++
			}
		}
		if answers == 0 {
			t.Fatalf("%s asks nothing", surface)
		}
		code := look + float64(len(strings.ReplaceAll(jobs.SheetCode(pagestest.Job, surface), "-", ""))+1)*key // typed under Scan, and Enter
		head := 2*look + (12+17)*key                                                                           // name and time
		took := code + head + float64(answers+shares)*look + float64(2*answers+4*shares+3*values+2)*key
		t.Logf("evidence: %s: %d shares, %d answers, %d values: %.0f s", surface, shares, answers, values, took)
		all += took
	}
	if mean := all / float64(len(sheets)); mean > limit {
		t.Errorf("a sheet takes %.0f s", mean)
	}
}
