package pages_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
)

// From the page of a surface it takes two taps to record its next layer: the one action, and the form's own button, with
// everything in it as it is most often.
func TestRecordALayer(t *testing.T) {
	w := lanternWorld(t)
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"release","surface":"C1","layer":3,"checks":["K23"]}`)
	main := page(t, w, c1).one(t, "a.do")
	if got := main.words(); got != "Record layer 4 in place" {
		t.Fatalf("the action of the page is %q", got)
	}
	doc := page(t, w, main.attr["href"])
	form := url.Values{}
	for _, n := range doc.one(t, "form").all("input") {
		if typ := n.attr["type"]; typ == "text" || typ == "hidden" {
			form.Set(n.attr["name"], n.attr["value"])
		}
	}
	post(t, w, main.attr["href"], form).mustSee(t, c1)
	l := w.JobAs(pagestest.Job).Surface("C1").Layer(4)
	if l.Share != 1 || l.InstalledMass != 5 { // as specified: testdata/demo/lantern-row.json
		t.Errorf("layer 4: share %v, %v kg/m²", l.Share, l.InstalledMass)
	}
	if got := page(t, w, c1).one(t, "h1").words(); !strings.HasPrefix(got, "Layer 5 may go on. Screw 50") {
		t.Errorf("then the page says %q", got)
	}
}

func TestRecordAShareOfALayer(t *testing.T) {
	w := lanternWorld(t)
	to := lantern + "/s/X1/1/install"
	upload(t, w, to, url.Values{"share": {"33.3"}, "mass_kg_m2": {"4.8"}, "material": {"offcuts"}, "note": {"top half"}, "by": {"the apprentice"},
		"at": {"2026-11-25T09:30"}, "from_paper": {"true"}}, pagestest.Picture()).mustSee(t, lantern+"/s/X1")
	j := w.JobAs(pagestest.Job)
	l := j.Surface("X1").Layer(1)
	if l.Share != 0.333 || l.InstalledMass != 4.8 { // as typed
		t.Errorf("share %v, %v kg/m²", l.Share, l.InstalledMass)
	}
	r := l.Installs[0]
	c := r.Common()
	if len(r.Blobs) != 1 || c.Note != "top half" || c.By != "the apprentice" || !c.FromPaper || c.At != "2026-11-25T09:30:00Z" {
		t.Errorf("recorded %+v with %d photos", c, len(r.Blobs))
	}
	// More than the whole is refused, with what was typed still there and the complaint linked to its field.
	rep := post(t, w, to, url.Values{"share": {"80"}, "note": {"the rest"}})
	doc := refused(t, rep)
	if got := doc.one(t, "textarea").text; got != "the rest" {
		t.Errorf("the note came back as %q", got)
	}
	if got := doc.one(t, "#f-share").attr["value"]; got != "80" {
		t.Errorf("the share came back as %q", got)
	}
	if got := doc.one(t, ".errors").all("a")[0]; got.attr["href"] != "#f-share" || !strings.Contains(got.words(), "at most 66.7 %. 33.3 % of the layer is recorded already.") {
		t.Errorf("the summary says %q and leads to %s", got.words(), got.attr["href"])
	}
}

// refused is the page of a form that has to be corrected: 422, the same words on top and beside the field, and in the title.
func refused(t *testing.T, r reply) *node {
	t.Helper()
	if r.status != http.StatusUnprocessableEntity {
		t.Fatalf("answered %d\n%s", r.status, r.body)
	}
	doc := parsePage(t, r.body)
	checkMarkup(t, "a form to correct", doc)
	if !strings.HasPrefix(doc.one(t, "title").words(), "To correct: ") {
		t.Errorf("the title says %q", doc.one(t, "title").words())
	}
	summary := doc.one(t, ".errors")
	if _, ok := summary.attr["autofocus"]; !ok {
		t.Error("the summary does not take the focus")
	}
	var beside []string
	for _, n := range doc.all(".error") {
		beside = append(beside, n.words())
	}
	for _, n := range summary.all("a") {
		if n.attr["href"] != "#form" && !slices.Contains(beside, n.words()) {
			t.Errorf("%q stands on top and not beside a field: %q", n.words(), beside)
		}
	}
	return doc
}

func TestWhatHasToBeCorrected(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	fails := w.JobAs(pagestest.Job).Surface("F1").Check("K32", 1).Heads[0].ID
	for _, c := range []struct {
		path  string
		form  url.Values
		field string
		says  string // part of it
	}{
		{c1 + "/4/install", url.Values{}, "f-share", "Fill in: share of the area in place now."},
		{c1 + "/4/install", url.Values{"share": {"a lot"}}, "f-share", "write a number only"},
		{c1 + "/4/install", url.Values{"share": {"100"}, "mass_kg_m2": {"12,5"}}, "f-mass_kg_m2", "write 12.5 with a point"},
		{c1 + "/4/install", url.Values{"share": {"100"}, "mass_kg_m2": {"9000"}}, "f-mass_kg_m2", "kg/m²"},
		{c1 + "/4/install", url.Values{"share": {"100"}, "at": {"yesterday"}}, "f-at", "Write date and time as 2026-11-25 14:05."},
		{c1 + "/3/check/K23", url.Values{"note": {"x"}}, "f-result-0", "Fill in: result."},
		{c1 + "/3/check/K23", url.Values{"result": {"not_applicable"}}, "f-note", "Say why K23 does not apply."},
		{c1 + "/3/check/K23", url.Values{"result": {"fail"}, "measured.gap_mm": {"900"}}, "f-measured-gap_mm", "Width of the gap must be 0 to 100 mm."},
		{c1 + "/3/ready", url.Values{"day": {"2026-11-25"}, "cover_at": {"half past four"}}, "f-cover_at", "Write the time as 16:30"},
		{c1 + "/5/substitute", url.Values{"state": {"asked"}, "layer_new.thickness_mm": {"15"}, "layer_new.mass_kg_m2": {"9.8"}}, "f-reason", "Fill in: reason."},
		{c1 + "/3/answer", url.Values{"answer": {"put_right"}}, "f-note", "Say what is to be put right."},
		{c1 + "/3/answer", url.Values{"answer": {"cover"}}, "f-note", "Say why it may be covered as it is."},
		{lantern + "/s/W1/4/cover", url.Values{}, "f-note", "Say why it is covered all the same."},
		{c1 + "/3/release", url.Values{"checks": {"K23"}}, "f-note", "Say why they are released."},
		{c1 + "/3/answer", url.Values{}, "f-answer-0", "Fill in: your answer."},
		{c1 + "/3/release", url.Values{}, "f-checks", "Tick the checks that you release."},
		{lantern + "/s/F1/right/" + fails, url.Values{"hours": {"1"}}, "f-cause-0", "Fill in: why it was wrong."},
		{c1 + "/caution/fire", url.Values{"answer": {"30 minutes"}}, "f-decided_by", "Fill in: decided by."},
		{lantern + "/note", url.Values{}, "f-text", "Fill in: note."},
		{lantern + "/withdraw/" + fails, url.Values{}, "f-reason", "Fill in: reason."},
	} {
		before := len(w.JobAs(pagestest.Job).Records)
		doc := refused(t, post(t, w, c.path, c.form))
		link := doc.one(t, ".errors").all("a")[0]
		if link.attr["href"] != "#"+c.field || !strings.Contains(link.words(), c.says) {
			t.Errorf("%s %v: %q leads to %s, want %q at #%s", c.path, c.form, link.words(), link.attr["href"], c.says, c.field)
		}
		for _, word := range []string{"invalid", "Error", "failed to"} {
			if strings.Contains(link.words(), word) {
				t.Errorf("%q does not say what to do", link.words())
			}
		}
		if after := len(w.JobAs(pagestest.Job).Records); after != before {
			t.Errorf("%s %v: %d entries were recorded", c.path, c.form, after-before)
		}
	}
}

// A check with a measured value and a photo goes in as one record, and a photo is not asked for twice.
func TestRecordACheckWithAPhoto(t *testing.T) {
	w := lanternWorld(t)
	to := c1 + "/3/check/K23"
	doc := refused(t, upload(t, w, to, url.Values{"result": {"pass"}, "measured.gap_mm": {"-4"}}, pagestest.Picture()))
	kept := doc.all("input[name=kept]")
	if len(kept) != 1 {
		t.Fatalf("%d photos are kept with the form", len(kept))
	}
	upload(t, w, to, url.Values{"result": {"pass"}, "measured.gap_mm": {"4"}, "measured.length_m": {"15.6"}, "kept": {kept[0].attr["value"]}}).mustSee(t, c1)
	j := w.JobAs(pagestest.Job)
	c := j.Surface("C1").Check("K23", 3)
	if c.State != jobs.CheckPassed || c.Evidence != 3 || c.Heads[0].What.(*jobs.CheckResult).Measured["gap_mm"] != 4 {
		t.Errorf("K23 is %s, evidence %d, %+v", c.State, c.Evidence, c.Heads[0].What)
	}
	photo := lantern + "/photos/" + c.Heads[0].Blobs[0].String()
	if len(page(t, w, c1).all("img[src="+photo+"]")) == 0 {
		t.Error("the photo is not on the surface's page")
	}
	r := get(t, w, photo)
	if r.status != http.StatusOK || r.header.Get("Content-Type") != "image/jpeg" || r.header.Get("X-Content-Type-Options") != "nosniff" ||
		!strings.HasPrefix(r.header.Get("Cache-Control"), "private") || !strings.Contains(r.header.Get("Content-Security-Policy"), "sandbox") {
		t.Errorf("the photo is served as %d %v", r.status, r.header)
	}
	// From another job, and as another hash, it opens nothing.
	w.Crowd()
	for _, p := range []string{"/jobs/" + pagestest.Crowded + "/photos/" + c.Heads[0].Blobs[0].String(), lantern + "/photos/AAAA", lantern + "/photos/" + strings.Repeat("A", 43)} {
		if got := get(t, w, p).status; got != http.StatusNotFound {
			t.Errorf("%s: %d", p, got)
		}
	}
	// What is no picture is said so, beside the field.
	doc = refused(t, upload(t, w, c1+"/3/check/K22", url.Values{"result": {"pass"}}, []byte("%PDF-1.7 no picture")))
	if got := doc.one(t, ".errors").all("a")[0]; got.attr["href"] != "#f-photos" || !strings.Contains(got.words(), "JPEG or PNG") {
		t.Errorf("%q at %s", got.words(), got.attr["href"])
	}
}

// A fault found, put right, and passed: the page leads from one to the next.
func TestPutRight(t *testing.T) {
	w := lanternWorld(t)
	f1 := lantern + "/s/F1"
	doc := page(t, w, f1)
	if got := doc.one(t, "h1").words(); got != "Put layer 1 right first: K32 edge strip all round." {
		t.Fatalf("the page says %q", got)
	}
	do := doc.one(t, "a.do")
	post(t, w, do.attr["href"], url.Values{"cause": {"haste"}, "hours": {"1.5"}, "note": {"strip laid behind the tails"}}).mustSee(t, f1)
	if got := w.JobAs(pagestest.Job).Surface("F1").Check("K32", 1).State; got != jobs.CheckPutRight {
		t.Errorf("K32 is %s", got)
	}
	w.Now = w.Now.Add(time.Minute)
	post(t, w, f1+"/1/check/K32", url.Values{"result": {"pass"}, "measured.gap_mm": {"4"}}).mustSee(t, f1)
	if got := w.JobAs(pagestest.Job).Surface("F1").Check("K32", 1).State; got != jobs.CheckPassed {
		t.Errorf("then K32 is %s", got)
	}
}

// For ten minutes the last record can be taken back in one tap; later with a reason.
func TestTakeBack(t *testing.T) {
	w := lanternWorld(t)
	x1 := lantern + "/s/X1"
	post(t, w, x1+"/1/install", url.Values{"share": {"100"}}).mustSee(t, x1)
	w.Now = w.Now.Add(9 * time.Minute)
	w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"note","surface":"W1","text":"meanwhile, elsewhere"}`)
	form := page(t, w, x1).one(t, "form.undo")
	if got := form.words(); !strings.Contains(got, "100 % in place") || !strings.Contains(got, "Take it back") {
		t.Errorf("it says %q", got)
	}
	w.Now = w.Now.Add(2 * time.Minute)
	if n := len(page(t, w, x1).all("form.undo")); n != 0 {
		t.Error("after eleven minutes it is still offered")
	}
	w.Now = w.Now.Add(-2 * time.Minute)
	w.As(pagestest.Pavo, jobs.Site)
	if n := len(page(t, w, x1).all("form.undo")); n != 0 {
		t.Error("it is offered to somebody else")
	}
	w.As(pagestest.Idris, jobs.Site)
	post(t, w, form.attr["action"], url.Values{"reason": {form.one(t, "input[name=reason]").attr["value"]}}).mustSee(t, x1)
	if l := w.JobAs(pagestest.Job).Surface("X1").Layer(1); l.Share != 0 || l.State != jobs.Specified {
		t.Errorf("layer 1 is %s, share %v", l.State, l.Share)
	}
	// It reads as what it is, a layer that is not there yet; that something was taken back is told where records are.
	layer := page(t, w, x1).one(t, "#layer-1")
	if got := layer.one(t, "summary").one(t, ".state").words(); got != "specified" {
		t.Errorf("the line of layer 1 says %q", got)
	}
	if got := page(t, w, lantern+"/history").words(); !strings.Contains(got, "Withdrawn: Recorded by mistake") {
		t.Errorf("the history does not tell that it was taken back: %s", got)
	}
	w.As(pagestest.Maren, jobs.Supervisor)
	if got := readPDF(t, get(t, w, lantern+"/pack.pdf").body); strings.Contains(strings.ToLower(got), "withdrawn") {
		t.Error("the pack calls a layer withdrawn")
	}
}

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

func TestSubstitution(t *testing.T) {
	w := lanternWorld(t)
	post(t, w, c1+"/5/substitute", url.Values{"state": {"asked"}, "layer_new.material": {"plasterboard"}, "layer_new.thickness_mm": {"15"},
		"layer_new.mass_kg_m2": {"9.8"}, "reason": {"standard board on the pallet"}}).mustSee(t, c1)
	if got := jobs.NameOf(w.JobAs(pagestest.Job).Surface("C1").Layer(5).Now); got != "Dense acoustic plasterboard 15 mm" {
		t.Errorf("a question has changed the layer to %s", got)
	}
	w.As(pagestest.Maren, jobs.Supervisor)
	if !strings.Contains(page(t, w, "/queue").words(), "Plasterboard, standard 15 mm instead of Dense acoustic plasterboard 15 mm?") {
		t.Error("the queue does not ask for the answer")
	}
	doc := page(t, w, c1+"/5/substitute")
	if got := doc.one(t, "#f-layer_new-mass_kg_m2").attr["value"]; got != "9.8" {
		t.Errorf("the answer starts with %q kg/m²", got)
	}
	w.Now = w.Now.Add(time.Minute)
	post(t, w, c1+"/5/substitute", url.Values{"state": {"agreed"}, "layer_new.material": {"plasterboard"}, "layer_new.thickness_mm": {"15"},
		"layer_new.mass_kg_m2": {"9.8"}, "reason": {"as asked"}}).mustSee(t, c1)
	if got := w.JobAs(pagestest.Job).Surface("C1").Layer(5).Now.MassKgM2(); got != 9.8 {
		t.Errorf("agreed, and the layer has %v kg/m²", got)
	}
	// A cavity has a depth and no material; its frame stays as it was.
	post(t, w, c1+"/2/substitute", url.Values{"state": {"already_fixed"}, "layer_new.depth_mm": {"30"}, "reason": {"other clips"}}).mustSee(t, c1)
	if got := jobs.NameOf(w.JobAs(pagestest.Job).Surface("C1").Layer(2).Now); got != "clip and channel 30 mm" {
		t.Errorf("the cavity became %s", got)
	}
}

func TestRuling(t *testing.T) {
	w := lanternWorld(t)
	disputes := lantern + "/disputes"
	if n := len(page(t, w, disputes).all("form")); n != 0 {
		t.Error("a fitter may rule")
	}
	w.As(pagestest.Maren, jobs.Supervisor)
	doc := page(t, w, disputes)
	if got := doc.one(t, "h1").words(); got != "1 dispute. Everything is kept until a supervisor rules." {
		t.Errorf("the page says %q", got)
	}
	sides := doc.one(t, "ol.sides")
	for _, want := range []string{"K28 pass, width of the gap 4 mm", "K28 fail, width of the gap 3 mm, length 1.2 m", "Pavo Lindqvist-Rao", "Idris Vaugh", "Open at the north edge.", "said so", "photo and measured"} {
		if !strings.Contains(sides.words(), want) {
			t.Errorf("the sides do not say %q: %s", want, sides.words())
		}
	}
	form := url.Values{}
	for _, n := range doc.all("input[name=on]") {
		form.Add("on", n.attr["value"])
	}
	form.Set("reason", "opened: it was sealed on three sides only")
	refused(t, post(t, w, disputes, form))
	form.Set("keeps", form["on"][1])
	post(t, w, disputes, form).mustSee(t, lantern+"/s/W1")
	j := w.JobAs(pagestest.Job)
	if len(j.Disputes) != 0 || j.Surface("W1").Check("K28", 4).State != jobs.CheckFailed {
		t.Errorf("%d disputes are left, K28 is %s", len(j.Disputes), j.Surface("W1").Check("K28", 4).State)
	}
	// The form was of yesterday: it is shown again as things stand, and nothing is recorded.
	before := len(j.Records)
	post(t, w, disputes, form).mustSee(t, disputes)
	if after := len(w.JobAs(pagestest.Job).Records); after != before {
		t.Error("a ruling on what is no longer disputed was recorded")
	}
}

// Where two layer lists or descriptions stand against each other, the page spells out what they say.
func TestDisputedListsAreSpeltOut(t *testing.T) {
	w := lanternWorld(t)
	j := w.JobAs(pagestest.Job)
	lines := pages.Particulars(j.Surface("X1").List)
	if len(lines) != 4 || lines[2] != "3 Plasterboard, standard 12.5 mm, 8\u202fkg/m²" {
		t.Errorf("the list says %q", lines)
	}
	for _, r := range j.Records {
		if d, ok := r.What.(*jobs.DescribeSurface); ok && d.Code == "X1" {
			if got := strings.Join(pages.Particulars(r), "; "); got != "code: X1; girth m: 0.6; kind: boxing; length m: 2.6; room: R1" {
				t.Errorf("the description says %q", got)
			}
		}
	}
}

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

func TestDelivery(t *testing.T) {
	w := lanternWorld(t)
	to := c1 + "/5/deliver"
	doc := refused(t, post(t, w, to, url.Values{"material": {"acoustic board"}, "quantity": {"twelve"}}))
	if got := doc.one(t, ".errors").words(); !strings.Contains(got, "Quantity: write a number only") {
		t.Errorf("it says %q", got)
	}
	upload(t, w, to, url.Values{"material": {"acoustic board 15 mm"}, "quantity": {"12"}, "unit": {"sheets"}, "mass_kg_m2": {"12.6"}, "batch": {"A-114"}}, pagestest.Picture()).mustSee(t, c1)
	if l := w.JobAs(pagestest.Job).Surface("C1").Layer(5); l.State != jobs.Delivered {
		t.Errorf("layer 5 is %s", l.State)
	}
	if got := page(t, w, to).words(); !strings.Contains(got, "Delivered: 12 sheets acoustic board 15 mm") {
		t.Errorf("what was delivered is not shown: %s", got)
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
	if got := page(t, w, w1).one(t, "h1").words(); got != fmt.Sprintf("Do not cover layer 1: %d checks of the whole surface are open.", len(whole)) {
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

// The program keeps who decided on fire, load and the like; it never answers itself.
func TestCautions(t *testing.T) {
	w := lanternWorld(t)
	if got := page(t, w, c1).words(); !strings.Contains(got, "Not answered yet. It is for whoever answers for fire safety under the local code.") {
		t.Error("an open question about fire is not shown")
	}
	load := page(t, w, c1).one(t, "a[href="+c1+"/caution/load]")
	post(t, w, load.attr["href"], url.Values{"answer": {"0.70 kN/m² in all"}, "decided_by": {"Engineer, letter 2"}}).mustSee(t, c1)
	if got := page(t, w, lantern+"/s/F1").words(); !strings.Contains(got, "0.70 kN/m² in all. Decided by Engineer, letter 2.") {
		t.Error("what the joists carry is not shown for the floor on them")
	}
	post(t, w, c1+"/caution/fire", url.Values{"answer": {"30 minutes; the ceiling is the tested one"}, "decided_by": {"Building control, notice 12"}}).mustSee(t, c1)
	if got := page(t, w, c1).words(); !strings.Contains(got, "30 minutes; the ceiling is the tested one. Decided by Building control, notice 12.") {
		t.Error("the answer is not shown")
	}
	if got := page(t, w, lantern+"/s/W1").words(); strings.Contains(got, "30 minutes") {
		t.Error("an answer for the ceiling is shown for the wall")
	}
	if got := get(t, w, c1+"/caution/luck").status; got != http.StatusNotFound {
		t.Errorf("a question that nobody asks: %d", got)
	}
}

func TestNotes(t *testing.T) {
	w := lanternWorld(t)
	post(t, w, lantern+"/note", url.Values{"text": {"Key is with the neighbour."}}).mustSee(t, lantern)
	post(t, w, c1+"/note?layer=2", url.Values{"text": {"First channel 120 mm from the wall."}}).mustSee(t, c1)
	j := w.JobAs(pagestest.Job)
	last := j.Records[len(j.Records)-1]
	if last.On.Surface != "C1" || last.On.Layer != 2 || last.What.(*jobs.Note).Text != "First channel 120 mm from the wall." {
		t.Errorf("recorded %+v %+v", last.On, last.What)
	}
	if !strings.Contains(page(t, w, lantern+"/history").words(), "Key is with the neighbour.") {
		t.Error("the history does not hold the note")
	}
}

// Forms of other sites are refused, on this machine too.
func TestForeignForms(t *testing.T) {
	w := lanternWorld(t)
	before := len(w.JobAs(pagestest.Job).Records)
	for _, h := range []map[string]string{{"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}, {"Origin": "https://elsewhere.example.net"}, {"Origin": "null"}} {
		req := httptest.NewRequest(http.MethodPost, c1+"/note", strings.NewReader("text=hello"))
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		for k, v := range h {
			req.Header.Set(k, v)
		}
		if got := send(t, w, req).status; got != http.StatusForbidden {
			t.Errorf("%v: %d", h, got)
		}
	}
	if after := len(w.JobAs(pagestest.Job).Records); after != before {
		t.Errorf("%d entries were recorded", after-before)
	}
}
