package e2e_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
)

func picture(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "perimeter.jpg")
	if err := os.WriteFile(path, pagestest.Picture(), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// From the list of jobs to a check with a photo and to the next layer, with a thumb: every step is what the page offers.
func flow(t *testing.T, b *browser, w *pagestest.World, host string, scripts bool) {
	t.Helper()
	b.visit("http://" + host + "/")
	b.tap(`a[href="` + lantern + `/s/C1"]`)
	if got := b.text("h1"); got != "Do not cover layer 3: 1 check is open." {
		t.Fatalf("the ceiling says %q", got)
	}
	b.tap("a.do") // record K23
	b.call("answer the check", chromedp.Click(chromedp.CSS("#f-result-0")), chromedp.SendKeys(chromedp.CSS("#f-measured-gap_mm"), "four"),
		chromedp.SendKeys(chromedp.CSS("#f-note"), "Two beads all round."), chromedp.SetUploadFiles(chromedp.CSS("#f-photos"), []string{picture(t)}))
	if scripts {
		b.call("see the photo before it is sent", chromedp.WaitVisible(chromedp.CSS(".chosen img")))
	}
	b.tap("button.do")
	if got := b.text(".errors a"); got != "Width of the gap: write a number only, such as 12.6." {
		t.Fatalf("the summary says %q", got)
	}
	if scripts {
		if got := eval[string](b, `document.activeElement.className`); got != "errors" {
			t.Errorf("the focus is on %q", got)
		}
	}
	if got := b.text("#f-note"); got != "Two beads all round." {
		t.Errorf("the note came back as %q", got)
	}
	if got := b.text(".kept"); got != "1 photo is kept with this form." {
		t.Errorf("of the photo it says %q", got)
	}
	b.call("correct it", chromedp.SetValue(chromedp.CSS("#f-measured-gap_mm"), "4"))
	b.tap("button.do")
	c := w.JobAs(pagestest.Job).Surface("C1").Check("K23", 3)
	if c.State != jobs.CheckPassed || len(c.Heads) != 1 || len(c.Heads[0].Blobs) != 1 || c.Evidence != 3 {
		t.Fatalf("K23 is %s, evidence %d", c.State, c.Evidence)
	}
	if got := b.text("h1"); got != "Layer 4 may go on." {
		t.Fatalf("then the ceiling says %q", got)
	}
	// Two taps record the layer as it is most often: the page's one action, and the form's own button.
	b.tap("a.do")
	b.tap("button.do")
	if l := w.JobAs(pagestest.Job).Surface("C1").Layer(4); l.Share != 1 {
		t.Errorf("layer 4 is in place over %v", l.Share)
	}
	if got := b.text("h1"); !strings.HasPrefix(got, "Layer 5 may go on. Screw 50") {
		t.Errorf("at the end the ceiling says %q", got)
	}
	b.quiet(host)
}

func TestFlow(t *testing.T) {
	b := open(t)
	w, host := world(t, jobs.Site, pagestest.Options{})
	b.call("hold a phone", chromedp.EmulateViewport(360, 640, chromedp.EmulateMobile, chromedp.EmulateTouch))
	flow(t, b, w, host, true)
}

// Nothing needs a script.
func TestFlowWithoutScripts(t *testing.T) {
	b := open(t)
	w, host := world(t, jobs.Site, pagestest.Options{})
	b.call("switch scripts off", call(emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}))
	flow(t, b, w, host, false)
}

// A page that is left open says that the record has changed; it does not change under the reader's hands.
func TestAPageLeftOpen(t *testing.T) {
	b := open(t)
	w, host := world(t, jobs.Site, pagestest.Options{Link: pages.Link{State: pages.LinkOffline}})
	b.visit("http://" + host + lantern + "/s/C1")
	line, before := b.text(".line"), b.text("h1")
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"audit","surface":"C1","layer":3,"answer":"put_right","note":"Seal the north edge."}`)
	eval[bool](b, `window.dispatchEvent(new Event('online'))`)
	b.call("be told", chromedp.WaitVisible(chromedp.CSS(".changed")))
	if got := b.text("h1"); got != before {
		t.Errorf("the page has changed by itself to %q", got)
	}
	if got := b.text(".line"); got == line {
		t.Errorf("the status line still says %q", got)
	}
	b.tap(".changed a")
	if got := b.text("h1"); got != "Put layer 3 right first: Seal the north edge." {
		t.Errorf("then it says %q", got)
	}
	b.quiet(host)
}

// A second tap on a slow device does not send a form twice.
func TestSendOnce(t *testing.T) {
	b := open(t)
	w, host := world(t, jobs.Site, pagestest.Options{})
	count := func() int { return len(w.JobAs(pagestest.Job).Records) }
	before := count()
	b.visit("http://" + host + lantern + "/note")
	b.call("write a note", chromedp.SendKeys(chromedp.CSS("#f-text"), "The key is with the neighbour."))
	eval[bool](b, `(() => { const button = document.querySelector('button.do'); button.click(); button.click(); return true })()`)
	b.call("arrive", chromedp.WaitVisible(chromedp.CSS(".rows")))
	if got := count() - before; got != 1 {
		t.Errorf("two taps recorded %d notes", got)
	}
}

// A form that takes long says that it is at work, and for how long; a second tap sends nothing.
func TestALongFormSaysThatItIsAtWork(t *testing.T) {
	b := open(t)
	_, host := world(t, jobs.Site, pagestest.Options{})
	b.visit("http://" + host + "/s")
	// The answer never comes: what is sent goes nowhere, as on a line that hangs.
	if got := eval[int](b, `(() => {
		const form = document.querySelector('form[data-busy]')
		window.went = 0
		form.addEventListener('submit', (event) => { if (!event.defaultPrevented) window.went++; event.preventDefault() })
		form.requestSubmit()
		form.requestSubmit()
		return window.went
	})()`); got != 1 {
		t.Errorf("two taps sent it %d times", got)
	}
	if got := b.text(".busy"); !strings.HasPrefix(got, "Reading the photo.") {
		t.Errorf("while it is read, the page says %q", got)
	}
	b.until("it says for how long", "document.querySelector('.busy').textContent.endsWith('5 seconds so far.')")
}
