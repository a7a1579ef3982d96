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
	// Whoever opens it finds what it is of, and the way back there.
	shown := page(t, w, photo+"/of/"+c.Heads[0].ID)
	if len(page(t, w, c1).all("a[href="+photo+"/of/"+c.Heads[0].ID+"]")) == 0 || len(shown.all("img[src="+photo+"]")) != 1 {
		t.Error("the photo has no page of its own")
	}
	if back := shown.all("a[href=" + c1 + "#layer-3]"); len(back) != 1 || back[0].words() != "Back to layer 3 of C1" {
		t.Errorf("no way back from the photo: %s", shown.one(t, "main").words())
	}
	if got := shown.one(t, "main").words(); !strings.Contains(got, "C1: photo 1 for K23 of layer 3") || !strings.Contains(got, "K23 pass, width of the gap 4 mm") || !strings.Contains(got, "Idris Vaugh") {
		t.Errorf("the page of the photo says %s", got)
	}
	other := w.JobAs(pagestest.Job).Of("install")[0].ID
	for _, p := range []string{photo + "/of/" + other, photo + "/of/none", lantern + "/photos/AAAA/of/" + c.Heads[0].ID} {
		if got := get(t, w, p).status; got != http.StatusNotFound {
			t.Errorf("%s: %d", p, got)
		}
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
	if l := w.JobAs(pagestest.Job).Surface("X1").Layer(1); l.Share != 0 || l.State != jobs.WithdrawnLayer {
		t.Errorf("layer 1 is %s, share %v", l.State, l.Share)
	}
	// It reads as what it is, a layer that is not there yet; that something was taken back is told where records are.
	layer := page(t, w, x1).one(t, "#layer-1")
	if got := layer.one(t, "summary").one(t, ".state").words(); got != "specified" {
		t.Errorf("the line of layer 1 says %q", got)
	}
	if got := page(t, w, lantern+"/history").words(); !strings.Contains(got, "Withdrawn: Recorded by mistake (X1 layer 1: 100 % in place)") {
		t.Errorf("the history does not tell that it was taken back: %s", got)
	}
	w.As(pagestest.Maren, jobs.Supervisor)
	if got := readPDF(t, get(t, w, lantern+"/pack.pdf").body); strings.Contains(strings.ToLower(got), "withdrawn") {
		t.Error("the pack calls a layer withdrawn")
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
