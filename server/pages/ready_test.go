package pages_test

import (
	"net/http"
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

// The first press is taken: no time is known until somebody chooses a day, and then the time is asked for.
func TestReadyWithoutATime(t *testing.T) {
	w := lanternWorld(t)
	const to = c1 + "/3/ready"
	form := url.Values{}
	for _, n := range page(t, w, to).one(t, "form").all("input") {
		if _, checked := n.attr["checked"]; checked || n.attr["type"] == "text" || n.attr["type"] == "hidden" {
			form.Set(n.attr["name"], n.attr["value"])
		}
	}
	if day, asked := form["day"]; !asked || day[0] != "" {
		t.Fatalf("the day is preset to %q", day)
	}
	post(t, w, to, form).mustSee(t, c1)
	if got := w.JobAs(pagestest.Job).Surface("C1").Layer(3).CoverAt; got != "" {
		t.Errorf("planned %q", got)
	}
	form.Set("day", "2026-11-26")
	if got := refused(t, post(t, w, to, form)).one(t, "#f-cover_at-error").words(); !strings.Contains(got, "Write the time as 16:30") {
		t.Errorf("a day without a time: %q", got)
	}
	// What nobody can see any more is not offered to be seen.
	doc := page(t, w, c1)
	if len(doc.all("a[href="+to+"]")) == 0 || len(doc.all("a[href="+c1+"/2/ready]")) != 0 {
		t.Error("ready to be seen is to be offered of layer 3, and not of layer 2, which is covered")
	}
}

// Where nothing is open there is nothing to release, and no form for it.
func TestNothingToRelease(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	if doc := page(t, w, c1+"/3/release"); len(doc.all("#f-note")) != 1 {
		t.Error("with a check open there is no form")
	}
	doc := page(t, w, lantern+"/s/X1/1/release")
	for _, open := range w.JobAs(pagestest.Job).Surface("X1").ChecksOf(1) {
		if open.Rule.Stop {
			t.Fatal("X1 has a stop check on layer 1: take another")
		}
	}
	if !strings.Contains(doc.words(), "No stop check is open here.") || len(doc.all("#f-note")) != 0 || strings.Contains(doc.words(), "Release them") {
		t.Errorf("with nothing open it says %s", doc.one(t, "main").words())
	}
}

func TestPlannedTimeIsInThePagesZone(t *testing.T) {
	w := lanternWorld(t)
	post(t, w, c1+"/3/ready", url.Values{"day": {"2026-11-26"}, "cover_at": {"9.15"}}).mustSee(t, c1)
	if got := w.JobAs(pagestest.Job).Surface("C1").Layer(3).CoverAt; got != "2026-11-26T09:15:00Z" {
		t.Errorf("planned %q", got)
	}
	post(t, w, c1+"/3/ready", url.Values{"day": {""}, "cover_at": {""}}).mustSee(t, c1)
}

// An answer that releases checks is several records; it is taken back as the one thing that it was.
func TestAnAnswerIsTakenBackWhole(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	w.Now = w.Now.Add(time.Minute)
	const answer = lantern + "/s/W1/2/answer" // covered unseen, with stop checks of the layer and of the whole surface open
	yes := url.Values{"answer": {"cover"}, "note": {"endoscope through the socket"}}
	for _, n := range page(t, w, answer).one(t, "form").all("input[type=hidden]") {
		yes.Add(n.attr["name"], n.attr["value"])
	}
	before := w.JobAs(pagestest.Job).Surface("W1")
	was := [2]int{len(before.Layer(2).Open), len(before.Warnings)}
	post(t, w, answer, yes).mustSee(t, lantern+"/s/W1")
	after := w.JobAs(pagestest.Job)
	if n := len(after.Surface("W1").Layer(2).Open); n != 0 || len(after.Of("release")) < 3 {
		t.Fatalf("%d stop checks are open, %d releases in all", n, len(after.Of("release")))
	}
	last := after.Of("release")[len(after.Of("release"))-1].ID
	if box := page(t, w, lantern+"/withdraw/"+last).one(t, "#f-also"); len(box.all("input[type=checkbox]")) != 2 {
		t.Errorf("on the page of withdrawing stands %s", box.words())
	}
	undo := page(t, w, lantern+"/s/W1").one(t, "form.undo")
	if says := undo.words(); !strings.Contains(says, "K23") || !strings.Contains(says, "may be covered") {
		t.Errorf("it offers %q", says)
	}
	back := url.Values{}
	for _, n := range undo.all("input[type=hidden]") {
		back.Add(n.attr["name"], n.attr["value"])
	}
	post(t, w, undo.attr["action"], back).mustSee(t, lantern+"/s/W1")
	j := w.JobAs(pagestest.Job)
	now := j.Surface("W1")
	if got := [2]int{len(now.Layer(2).Open), len(now.Warnings)}; got != was {
		t.Errorf("open checks and warnings are %v, they were %v", got, was)
	}
	for _, r := range append(j.Of("audit"), j.Of("release")...) {
		if r.By == pagestest.Maren && r.On.Surface == "W1" && j.InForce(r) {
			t.Errorf("%s still counts: %s", r.Kind, j.Says(r))
		}
	}
	if !strings.Contains(page(t, w, "/queue").words(), "Layer 2 was covered unseen.") {
		t.Error("it is not in the queue again")
	}
}

// Of a layer that is covered nobody asks whether it may be: the page says what covered it and by whom, and takes nothing in.
func TestReadyOfWhatIsCovered(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Idris, jobs.Site)
	sent := post(t, w, c1+"/1/ready", url.Values{"day": {""}})
	if sent.status != http.StatusUnprocessableEntity {
		t.Errorf("what was sent is answered with %d", sent.status)
	}
	for _, doc := range []*node{page(t, w, c1+"/1/ready"), parsePage(t, sent.body)} {
		if got := doc.one(t, "main").words(); !strings.Contains(got, "Layer 1 is covered already. Back to layer 1 of C1 What covered it C1, layer 2: 100 % in place Pavo Lindqvist-Rao, ") {
			t.Errorf("of a covered layer it says %q", got)
		}
		if n := len(doc.one(t, "main").all("form")); n > 0 {
			t.Errorf("it has %d forms", n)
		}
	}
	if got := page(t, w, lantern+"/s/X1/1/ready").one(t, "main").words(); !strings.Contains(got, "Layer 1 is not in place yet.") {
		t.Errorf("of a layer that is not in place it says %q", got)
	}
}
