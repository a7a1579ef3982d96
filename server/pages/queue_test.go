package pages_test

import (
	"net/url"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// In the queue the photos of a layer stand beside the criterion they have to show, and a surface on which records differ is one line.
func TestQueueShowsPhotosBesideTheCriterion(t *testing.T) {
	w := lanternWorld(t)
	w.Crowd()
	w.As(pagestest.Idris, jobs.Site)
	upload(t, w, c1+"/3/check/K22", url.Values{"result": {"pass"}, "measured.gap_mm": {"4"}}, pagestest.Picture())
	rule, _ := jobs.RuleOf("K22")
	w.As(pagestest.Maren, jobs.Supervisor)
	r := get(t, w, "/queue")
	r.body = strings.ReplaceAll(r.body, "\u00a0", " ")
	at := strings.Index(r.body, rule.Accept)
	if at < 0 || !strings.Contains(r.body[at:min(len(r.body), at+600)], lantern+"/photos/") {
		t.Errorf("no photo beside %q: %.2500s", rule.Accept, r.body)
	}
	if n := strings.Count(r.body, `/disputes"`); n != 2 || !strings.Contains(r.body, "W1: 1 dispute") {
		t.Errorf("%d lines of disputes, expected one for W1 and one for C9", n)
	}
}
