package pages_test

import (
	"net/url"
	"strings"
	"sync"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// A form that comes twice is recorded once, also where both come at the same time; what was changed in between, and the same form
// filled in anew, are records of their own.
func TestAFormIsRecordedOnce(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{})
	w.Lantern()
	notes := func() int { return len(w.JobAs(pagestest.Job).Of("note")) }
	before := notes()
	path := lantern + "/note"
	key := func() string { return page(t, w, path).one(t, "input[name=form]").attr["value"] }
	first := url.Values{"form": {key()}, "text": {"The key is with the neighbour."}}
	var all sync.WaitGroup
	for range 4 {
		all.Go(func() {
			if r := post(t, w, path, first); r.status != 303 {
				t.Errorf("sent again: %d", r.status)
			}
		})
	}
	all.Wait()
	if got := notes() - before; got != 1 {
		t.Fatalf("one form sent four times recorded %d notes", got)
	}
	post(t, w, path, url.Values{"form": first["form"], "text": {"The key is under the mat."}}).mustSee(t, lantern)
	post(t, w, path, url.Values{"form": {key()}, "text": first["text"]}).mustSee(t, lantern)
	if got := notes() - before; got != 3 {
		t.Errorf("then there are %d notes, want 3", got)
	}
	// What was refused may be sent again, and is recorded then.
	check := c1 + "/3/check/K23"
	form := url.Values{"form": {page(t, w, check).one(t, "input[name=form]").attr["value"]}, "result": {"pass"}, "measured.gap_mm": {"wide"}}
	refused(t, post(t, w, check, form))
	form.Set("measured.gap_mm", "4")
	post(t, w, check, form).mustSee(t, c1)
	if c := w.JobAs(pagestest.Job).Surface("C1").Check("K23", 3); c.State != jobs.CheckPassed || len(c.Heads) != 1 {
		t.Errorf("K23 is %s with %d records", c.State, len(c.Heads))
	}
	if undo := page(t, w, c1).one(t, "form.undo"); !strings.Contains(undo.words(), "K23") || undo.one(t, "input[name=form]") == nil {
		t.Errorf("taken back is %q", undo.words())
	}
}
