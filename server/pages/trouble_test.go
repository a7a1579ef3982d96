package pages_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// stopsOf are the sentences of what is in the way, each with where it leads.
func stopsOf(t *testing.T, doc *node) map[string]string {
	t.Helper()
	stops := map[string]string{}
	for _, li := range doc.one(t, ".stops").all("li") {
		to := ""
		if a := li.all("a"); len(a) > 0 {
			to = a[0].attr["href"]
		}
		stops[li.words()] = to
	}
	return stops
}

// Whoever is about to cover a layer is told what is wrong on it and beneath it, and where that is settled, before the form.
func TestCoveringSaysWhatIsInTheWay(t *testing.T) {
	w := lanternWorld(t)
	const w1 = lantern + "/s/W1"
	w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"check","surface":"W1","layer":2,"check":"K19","result":"fail","evidence":3,"note":"Screws torn through."}`)
	const dispute = "Two records do not agree about layer 4, K28 joint gap, inner boards. Both are kept."
	look := func(role jobs.Role, path string) *node {
		w.As(pagestest.Maren, role)
		doc := page(t, w, path)
		if doc.one(t, ".stops").words() == "" {
			t.Fatalf("%s says nothing", path)
		}
		return doc
	}
	for path, role := range map[string]jobs.Role{w1 + "/4/cover": jobs.Site, w1 + "/4/answer": jobs.Supervisor} {
		doc := look(role, path)
		stops := stopsOf(t, doc)
		for says, to := range stops {
			switch {
			case strings.HasPrefix(says, "Two records do not agree about layer 4, K28"):
				if to != lantern+"/disputes" {
					t.Errorf("%s: %q leads to %s", path, says, to)
				}
			case strings.HasPrefix(says, "Two records do not agree about layer 2, K19"), strings.HasPrefix(says, "Put layer 2 right first"), strings.HasPrefix(says, "Put layer 4 right first: K28"), strings.Contains(says, " open."):
			default:
				t.Errorf("%s says %q", path, says)
			}
		}
		if len(stops) < 2 {
			t.Errorf("%s says only %q, want also %q", path, stops, dispute)
		}
		if got := doc.one(t, ".still").words(); !strings.Contains(got, "K") {
			t.Errorf("%s: the open checks are not named: %s", path, got)
		}
	}
	if got := look(jobs.Site, w1+"/4/cover").one(t, "form").one(t, "button.do").words(); got != "Record layer 4 covered all the same" {
		t.Errorf("the button says %q", got)
	}
	// What the layer in question lacks besides is named with what the whole surface lacks.
	if got := page(t, w, w1).one(t, "main").words(); !strings.Contains(got, "1 stop check of layers 2 and 4 is disputed, 2 are open; 6 of the whole surface are open. K23 Perimeter sealed, layer 2 K19 Screw length, layer 4") {
		t.Errorf("the surface says %s", got)
	}
	w.As(pagestest.Idris, jobs.Site)
	post(t, w, w1+"/4/cover", url.Values{"note": {"The plasterer came a day early."}}).mustSee(t, w1)

	// Layer 4's dispute is no matter of the layers beneath it.
	for says := range stopsOf(t, look(jobs.Supervisor, w1+"/2/answer")) {
		if strings.Contains(says, "layer 4") {
			t.Errorf("on the page of layer 2 stands %q", says)
		}
	}
}

// A layer that was covered unseen is not asked about as if it could still be seen, and whoever leaves it so says why.
func TestCoveredUnseenIsAnsweredWithAReason(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	const to = lantern + "/s/W1/2/answer"
	doc := page(t, w, to)
	if got := doc.one(t, "h1").words(); got != "Layer 2 was covered unseen. What is to be done?" {
		t.Errorf("the page asks %q", got)
	}
	if got := doc.one(t, "#f-answer").words(); !strings.Contains(got, "Leave it covered") || strings.Contains(got, "Cover it") {
		t.Errorf("the answers are %s", got)
	}
	if got := refused(t, post(t, w, to, url.Values{"answer": {"cover"}})).one(t, ".errors").words(); !strings.Contains(got, "Say why it may be covered as it is.") {
		t.Errorf("without a reason: %s", got)
	}
	const why = "Endoscope through the socket: bead whole."
	post(t, w, to, url.Values{"answer": {"cover"}, "note": {why}}).mustSee(t, lantern+"/s/W1")
	var released int
	for _, r := range w.JobAs(pagestest.Job).Of("release") {
		if r.By == pagestest.Maren && r.On.Surface == "W1" {
			if released++; r.What.(*jobs.Release).Note != why {
				t.Errorf("released because of %q", r.What.(*jobs.Release).Note)
			}
		}
	}
	if released == 0 {
		t.Error("nothing was released")
	}
}

// A layer that is recorded over layers which are not is what the page says first, and it leads to what is missing.
func TestLayersRecordedOutOfOrder(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{})
	w.ImportJSON(pagestest.Job, []byte(`{"name":"Order","surfaces":[{"code":"C1","kind":"ceiling","width_m":4,"height_m":3,"specified":[
		{"kind":"cavity","depth_mm":16,"frame":{"kind":"none","resilient":"bar","mass_kg_m2":1}},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6},
		{"kind":"membrane","thickness_mm":2.5,"mass_kg_m2":5},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`))
	for _, step := range []struct{ edge, says, next string }{
		{`"layer":4,"share":0.5`, "Layer 4 is in place over layers 1 to 3, which are not recorded.", "Record layer 1 in place"},
		{`"layer":2,"share":1`, "Layer 4 is in place over layers 1 and 3, which are not recorded.", "Record layer 1 in place"},
		{`"layer":1,"share":0.4`, "Layer 4 is in place over 50 %, layer 1 beneath it over 40 % only.", "Record more of layer 1"},
		{`"layer":1,"share":0.6`, "Layer 4 is in place over layer 3, which is not recorded.", "Record layer 3 in place"},
	} {
		w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"install","surface":"C1",`+step.edge+`}`)
		doc := page(t, w, c1)
		if got := strings.ReplaceAll(doc.one(t, "h1").words(), "\u202f", " "); got != step.says {
			t.Errorf("after %s it says %q, want %q", step.edge, got, step.says)
		}
		if got := doc.one(t, "a.do").words(); got != step.next {
			t.Errorf("after %s it leads to %q, want %q", step.edge, got, step.next)
		}
	}
	w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"install","surface":"C1","layer":3,"share":0.5}`)
	if got := page(t, w, c1).one(t, "h1").words(); strings.Contains(got, "not recorded") {
		t.Errorf("with all in place it says %q", got)
	}
}

// Whoever covers a layer by something that is no layer reads what is open, of the layer and of the whole surface.
func TestCoveringSaysWhatIsOpen(t *testing.T) {
	w := lanternWorld(t)
	said := page(t, w, lantern+"/s/C1/5/cover").one(t, "main").words()
	for _, want := range []string{"2 checks of layer 5 are open.", "2 checks of the whole surface are open.", "K28 Last perimeter sealed", "K44 Air still moves", "The layer then counts as covered unseen."} {
		if !strings.Contains(said, want) {
			t.Errorf("it does not say %q: %.500s", want, said)
		}
	}
	w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"check","surface":"C1","check":"K44","result":"pass","evidence":3}`)
	if said = page(t, w, lantern+"/s/C1/5/cover").one(t, "main").words(); strings.Contains(said, "K44") {
		t.Error("what passed is still said to be open")
	}
}

func TestCoverTheLastLayer(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{})
	w.ImportJSON(pagestest.Job, []byte(`{"name":"One board","surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`))
	w1 := lantern + "/s/W1"
	w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"install","surface":"W1","layer":1,"share":1}`)
	for _, c := range w.JobAs(pagestest.Job).Surface("W1").ChecksOf(1) {
		if c.Rule.Stop {
			w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"check","surface":"W1","layer":1,"check":"`+c.Rule.Code+`","result":"pass","evidence":1}`)
		}
	}
	var whole []string
	for _, c := range w.JobAs(pagestest.Job).Surface("W1").ChecksOf(0) {
		if c.Rule.Stop {
			whole = append(whole, `"`+c.Rule.Code+`"`)
		}
	}
	if got := page(t, w, w1).one(t, "h1").words(); got != fmt.Sprintf("No skim, paint or floor finish on layer 1 yet: %d checks of the whole surface are open.", len(whole)) {
		t.Errorf("with stop checks of the whole surface open it says %q", got)
	}
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"release","surface":"W1","layer":0,"checks":[`+strings.Join(whole, ",")+`]}`)
	if len(w.JobAs(pagestest.Job).Surface("W1").Layer(1).Weak) > 0 {
		if got := page(t, w, w1).one(t, "h1").words(); !strings.Contains(got, "said so only") {
			t.Errorf("with checks passed on somebody's word it says %q", got)
		}
		w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"audit","surface":"W1","layer":1,"answer":"cover"}`)
	}
	do := page(t, w, w1).one(t, "a.do")
	if do.words() != "Record layer 1 covered" {
		t.Fatalf("the action is %q", do.words())
	}
	post(t, w, do.attr["href"], url.Values{}).mustSee(t, w1)
	doc := page(t, w, w1)
	if got := doc.one(t, "h1").words(); got != "The one layer is in place and covered." {
		t.Errorf("the page says %q", got)
	}
	if n := len(doc.all("a.do")); n != 0 {
		t.Error("there is still something to do")
	}
}

// Who finds a fault, mends it and then records a pass has not said that it was mended: the page asks, and is content with that.
func TestFailedThenPassedByOnePerson(t *testing.T) {
	w := lanternWorld(t)
	w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"check","surface":"F1","layer":1,"check":"K32","result":"pass","measured":{"gap_mm":4},"evidence":3}`)
	doc := page(t, w, lantern+"/s/F1")
	if got := doc.one(t, "h1").words(); got != "One person recorded layer 1, K32 edge strip all round, as failed and as passed. Was it put right?" {
		t.Fatalf("it says %q", got)
	}
	post(t, w, doc.one(t, "a.do").attr["href"], url.Values{"cause": {"haste"}, "hours": {"0.5"}}).mustSee(t, lantern+"/s/F1")
	if j := w.JobAs(pagestest.Job); j.Surface("F1").Check("K32", 1).State != jobs.CheckPassed {
		t.Errorf("K32 is %s", j.Surface("F1").Check("K32", 1).State)
	}
	if got := page(t, w, lantern+"/s/F1").one(t, "h1").words(); strings.Contains(got, "One person") {
		t.Errorf("then it says %q", got)
	}
}

// Whoever puts a layer on is told what it covers and what is missing beneath it, with the way there, and says why it goes on all the same.
func TestPuttingALayerOnSaysWhatIsInTheWay(t *testing.T) {
	w := lanternWorld(t)
	const x1 = lantern + "/s/X1"
	layers := len(w.JobAs(pagestest.Job).Surface("X1").Layers)
	if layers < 3 {
		t.Fatalf("X1 has %d layers", layers)
	}
	w.As(pagestest.Idris, jobs.Site)
	if n := len(page(t, w, x1+"/1/install").all(".stops")); n != 0 {
		t.Error("the first layer is stopped")
	}
	said := func(path string) map[string]string { return stopsOf(t, page(t, w, path)) }
	stops := said(x1 + "/3/install")
	if to, ok := stops["Layers 1 and 2 beneath it are not recorded in place."]; !ok || to != x1+"/1/install" {
		t.Errorf("with nothing beneath it says %v", stops)
	}
	if got := refused(t, post(t, w, x1+"/3/install", url.Values{"share": {"100"}})).one(t, "#f-note-error").words(); got != "Say why it goes on all the same." {
		t.Errorf("without a reason: %q", got)
	}
	if l := w.JobAs(pagestest.Job).Surface("X1").Layer(3); l.Share != 0 {
		t.Fatal("it was recorded all the same")
	}
	w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"install","surface":"X1","layer":1,"share":0.5}`)
	if stops = said(x1 + "/3/install"); stops["Layer 2 beneath it is not recorded in place."] != x1+"/2/install" {
		t.Errorf("with layer 1 begun it says %v", stops)
	}

	// What failed beneath is said to have failed, and is led to.
	w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"check","surface":"C1","layer":3,"check":"K19","result":"fail","evidence":3,"note":"Screws torn through."}`)
	w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"withdraw","over":"`+passOf(t, w, "C1", "K19")+`","reason":"Another layer."}`)
	doc := page(t, w, c1+"/4/install")
	stops = stopsOf(t, doc)
	if _, ok := stops["1 check of layer 3 failed, 1 is open."]; !ok {
		t.Errorf("over what failed it says %v", stops)
	}
	if to := stops["Put layer 3 right first: K19 screw length."]; !strings.Contains(to, "/right/") {
		t.Errorf("what is to be put right leads to %q: %v", to, stops)
	}
	if got := doc.one(t, ".still").words(); !strings.Contains(got, "K19 Screw length failed") || !strings.Contains(got, "K23") {
		t.Errorf("the checks beneath are named %q", got)
	}
	if got := doc.one(t, "main").words(); !strings.Contains(got, "Layer 3 then counts as covered unseen.") {
		t.Error("it does not say what becomes of layer 3")
	}
	refused(t, post(t, w, c1+"/4/install", url.Values{"share": {"100"}}))
	post(t, w, c1+"/4/install", url.Values{"share": {"100"}, "note": {"The ceiling closes today."}}).mustSee(t, c1)
	w.As(pagestest.Maren, jobs.Supervisor)
	if got := page(t, w, "/queue").words(); !strings.Contains(got, "Layer 3 was covered unseen. Failed: K19 screw length. Still open: K23 perimeter sealed.") {
		t.Errorf("the queue says %s", got)
	}
}

// passOf is the record that a check passed.
func passOf(t *testing.T, w *pagestest.World, surface, check string) string {
	t.Helper()
	for _, c := range w.JobAs(pagestest.Job).Surface(surface).Checks {
		for _, h := range c.Heads {
			if d := h.What.(*jobs.CheckResult); d.Check == check && d.Result == jobs.Pass {
				return h.ID
			}
		}
	}
	t.Fatalf("%s of %s has not passed", check, surface)
	return ""
}

// Releasing a check on fire says that it is nobody's yes to fire safety.
func TestReleasingFireDefersToWhoAnswersForIt(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	for path, want := range map[string]bool{lantern + "/s/W1/2/answer": true, lantern + "/s/W1/0/release": true, lantern + "/s/W1/4/release": false} {
		if got := strings.Contains(page(t, w, path).one(t, "main").words(), "for whoever answers for it under the local code"); got != want {
			t.Errorf("%s says so: %v", path, got)
		}
	}
}
