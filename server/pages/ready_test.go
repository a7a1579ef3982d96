package pages_test

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

func TestReadyAndTheAnswer(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	doc := page(t, w, "/queue")
	if got := doc.one(t, "h1").words(); !strings.Contains(got, "1 layer to be seen, the first covering today 16:30") {
		t.Errorf("the queue says %q", got)
	}
	if !strings.Contains(doc.words(), "1 layer covered unseen, 1 to look into.") || !strings.Contains(doc.words(), "Layer 2 was covered unseen. Still open: K23 perimeter sealed.") {
		t.Errorf("the queue does not count what was covered unseen: %s", doc.words())
	}
	answer := c1 + "/3/answer"
	form := page(t, w, answer).one(t, "form")
	sees := form.all("input[name=sees]")
	if len(sees) != 1 { // K19 is answered once
		t.Errorf("the form names %d answers that were seen", len(sees))
	}
	post(t, w, answer, url.Values{"answer": {"coming"}, "sees": {sees[0].attr["value"]}}).mustSee(t, c1)
	if !strings.Contains(page(t, w, "/queue").words(), "Maren Tolleby is coming.") {
		t.Error("the queue does not say that she is coming")
	}
	w.Now = w.Now.Add(time.Minute)
	yes := url.Values{"answer": {"cover"}, "sees": {sees[0].attr["value"]}}
	yes.Set("note", "measured with him on the telephone")
	post(t, w, answer, yes).mustSee(t, c1)
	l := w.JobAs(pagestest.Job).Surface("C1").Layer(3)
	if l.State != jobs.Accepted || len(l.Open) != 0 {
		t.Errorf("layer 3 is %s with %d stop checks open: covering it is her word for them too", l.State, len(l.Open))
	}
	w.As(pagestest.Idris, jobs.Site)
	if got := page(t, w, c1).one(t, "h1").words(); got != "Layer 4 may go on." {
		t.Errorf("the fitter reads %q", got)
	}
}

func TestPlannedTimeIsInThePagesZone(t *testing.T) {
	w := lanternWorld(t)
	post(t, w, c1+"/2/ready", url.Values{"day": {"2026-11-26"}, "cover_at": {"9.15"}}).mustSee(t, c1)
	if got := w.JobAs(pagestest.Job).Surface("C1").Layer(2).CoverAt; got != "2026-11-26T09:15:00Z" {
		t.Errorf("planned %q", got)
	}
	post(t, w, c1+"/1/ready", url.Values{"day": {""}, "cover_at": {""}}).mustSee(t, c1)
}
