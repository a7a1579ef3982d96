package e2e_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tacet/jobs"
	"tacet/sync/replica"
)

// A phone in a cellar: enrolled and filled with a signal, the network cut for page and service worker, opened anew, a layer, a check with
// a measured value and a photo recorded in at most three taps each, then sent: the server has exactly that, sealed, standing.
func TestPhoneWithoutSignal(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	b.call("hold a phone", chromedp.EmulateViewport(360, 740))
	dev := f.enrolPhone(b)
	b.until("the service worker has everything", "navigator.serviceWorker.controller")
	f.net.set(true)
	b.visit(f.URL + "/phone")
	b.until("it opens without a network", "document.documentElement.dataset.ready")
	b.h1("1 job taken along.")
	surface := "#/j/" + f.job + "/s/X1"
	b.press(`a[href="` + surface + `"]`)
	b.h1("Layer 1 may go on")
	b.press("a.do")
	b.press("button.do")
	b.until("shown at once", "document.querySelector('.layers .state').textContent.includes('100 % in place')")
	b.until("with its mark", "document.querySelector('.layers .state use').getAttribute('href') === '#mark-waiting'")
	if got := b.text(".line"); !strings.Contains(got, "1 change is saved here and will be sent later") {
		t.Errorf("the line says %q", got)
	}
	// The checks of the ceiling: measured, with a photo.
	b.hash("#/j/" + f.job + "/s/C1/3/K23")
	b.h1("K23")
	b.press("#f-result-0")
	b.enter("#f-measured-gap_mm", "4,5")
	b.press("button.do")
	b.until("a comma is asked about", "document.querySelector('.errors')?.textContent.includes('write 4.5 with a point if that is meant')")
	b.call("correct it and show it", chromedp.SetValue(chromedp.CSS("#f-measured-gap_mm"), "4.5"), chromedp.SetUploadFiles(chromedp.CSS("#f-photos"), []string{picture(t)}))
	b.until("the photo is shown", "document.querySelector('.chosen img')")
	b.press("button.do")
	b.until("the check is shown", "document.querySelector('main').textContent.includes('K23 passed, width of the gap 4.5\u202fmm, 1 photo')")
	b.hash("#/j/" + f.job + "/s/C1/3/note")
	b.enter("#f-text", "The <b>key</b> is with the neighbour — 2nd floor 🔑")
	b.press("button.do")
	b.until("the count is right", "document.querySelector('.line').textContent.includes('3 changes and 1 photo are saved here')")
	if n := len(f.records(dev)); n != 0 {
		t.Fatalf("%d entries at the server while the network is cut", n)
	}
	f.net.set(false)
	eval[bool](b, "dispatchEvent(new Event('online')); true")
	b.until("all is sent", "document.querySelector('.line').textContent.includes('All changes sent. Last checked')")
	es := f.records(dev)
	if len(es) != 3 {
		t.Fatalf("%d entries arrived", len(es))
	}
	for _, e := range es {
		if e.State != replica.Standing {
			t.Errorf("%s is %s: %s", e.Kind, e.State, e.Says)
		}
	}
	j, err := f.server.Replica.Job(t.Context(), f.co, f.job)
	if err != nil {
		t.Fatal(err)
	}
	if l := j.Surface("X1").Layer(1); l.Share != 1 {
		t.Errorf("the layer is in place over %v", l.Share)
	}
	c := j.Surface("C1").Check("K23", 3)
	if c.State != jobs.CheckPassed || c.Evidence != 3 {
		t.Errorf("K23 is %s with evidence %d", c.State, c.Evidence)
	}
	for _, h := range c.Heads {
		for _, sha := range h.Blobs {
			if data, err := f.server.Replica.Photo(t.Context(), f.co, f.job, sha); err != nil || len(data) == 0 {
				t.Errorf("photo %s: %d bytes, %v", sha, len(data), err)
			}
		}
	}
	if !slices.ContainsFunc(j.Records, func(r *jobs.Record) bool {
		n, ok := r.What.(*jobs.Note)
		return ok && n.Text == "The <b>key</b> is with the neighbour — 2nd floor 🔑"
	}) {
		t.Error("the note does not read as it was written")
	}
	// Taken along anew: what was recorded here is now part of what the office says.
	b.hash("#/j/" + f.job + "/s/X1")
	b.until("the office's word", "!document.querySelector('main').textContent.includes('Recorded here since')")
	b.calm(f)
}
