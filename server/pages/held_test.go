package pages_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
)

// What a rule holds back is shown to the supervisor with the rule, and answered there.
func TestHeldRecords(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{Link: pages.Link{State: pages.LinkDone}})
	w.Lantern()
	w.Hold(pagestest.Pavo, jobs.Site, "release", jobs.On{Surface: "C1", Layer: 3}, `{"checks":["K23"],"salt":"AAAAAAAAAAAAAAAAAAAAAA"}`)
	if got := page(t, w, "/waiting").words(); !strings.Contains(got, "1 record waits for the supervisor.") || !strings.Contains(got, "This needs a supervisor.") {
		t.Errorf("the device does not say what is held and why: %s", got)
	}
	if got := page(t, w, c1).one(t, "h1").words(); got != "Do not cover layer 3: 1 check is open." {
		t.Errorf("a held release counts: %q", got)
	}
	held := lantern + "/held"
	if got := get(t, w, held).status; got != http.StatusForbidden {
		t.Errorf("a fitter opens what is held: %d", got)
	}
	w.As(pagestest.Maren, jobs.Supervisor)
	if !strings.Contains(page(t, w, "/queue").words(), "7b Lantern Row: 1 record waits for you") || len(page(t, w, lantern).all("a[href="+held+"]")) != 1 {
		t.Error("queue or job do not lead to it")
	}
	box := page(t, w, held).one(t, "input[name=on]")
	refused(t, post(t, w, held, url.Values{"answer": {"refuse"}, "reason": {"not yours to release"}}))
	post(t, w, held, url.Values{"on": {box.attr["value"]}, "answer": {"refuse"}, "reason": {"not yours to release"}}).mustSee(t, lantern)
	if got := page(t, w, held).one(t, "h1").words(); got != "Nothing waits for your answer." {
		t.Errorf("then it says %q", got)
	}
}
