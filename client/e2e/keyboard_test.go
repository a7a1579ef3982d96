package e2e_test

import (
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// reach presses the tabulator key until the focus is on what the selector finds, and checks on the way that whatever has the
// focus shows it and is not hidden behind the one action.
func (b *browser) reach(selector string) {
	b.t.Helper()
	for range 80 {
		b.call("press the tabulator", chromedp.KeyEvent(kb.Tab))
		state := eval[string](b, `(() => {
			const e = document.activeElement, r = e.getBoundingClientRect(), s = getComputedStyle(e.closest('.pick') || e)
			if (e === document.body) return 'nothing'
			const over = document.elementFromPoint(Math.min(r.left + r.width / 2, innerWidth - 1), Math.min(Math.max(r.top + r.height / 2, 0), innerHeight - 1))
			const seen = over && (over === e || e.contains(over) || over.contains(e) || e.closest('label')?.contains(over))
			return (s.outlineStyle === 'none' || parseFloat(s.outlineWidth) < 3 ? 'no outline ' : '') + (seen ? '' : 'hidden ') + (e.matches(`+"`"+selector+"`"+`) ? 'there' : '')
		})()`)
		if strings.Contains(state, "outline") || strings.Contains(state, "hidden") {
			b.t.Errorf("on the way to %s the focus is %s: %s", selector, state, eval[string](b, `document.activeElement.outerHTML.slice(0, 160)`))
		}
		if strings.HasSuffix(state, "there") {
			return
		}
	}
	b.t.Fatalf("the keyboard does not reach %s", selector)
}

// The keyboard alone records a check and a layer.
func TestKeyboardAlone(t *testing.T) {
	b := open(t)
	w, host := world(t, jobs.Site, pagestest.Options{})
	b.call("hold a tablet", chromedp.EmulateViewport(820, 700))
	enter := func() {
		t.Helper()
		if _, err := chromedp.Run(b.ctx, chromedp.WaitEvent(page.LoadEventFired, nil, chromedp.KeyEvent(kb.Enter))); err != nil {
			t.Fatalf("press enter: %v", err)
		}
	}
	b.visit("http://" + host + "/")
	b.reach(`a[href="` + lantern + `/s/C1"]`)
	enter()
	b.reach("a.do")
	enter()
	b.reach("#f-result-0")
	b.call("choose", chromedp.KeyEvent(" "))
	b.reach("#f-measured-gap_mm")
	b.call("type", chromedp.KeyEvent("4"))
	b.reach("button.do")
	enter()
	if c := w.JobAs(pagestest.Job).Surface("C1").Check("K23", 3); c.State != jobs.CheckPassed {
		t.Fatalf("K23 is %s", c.State)
	}
	// A pass without a photo is somebody's word: the supervisor's own opens the next layer.
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"release","surface":"C1","layer":3,"checks":["K23"]}`)
	b.visit("http://" + host + lantern + "/s/C1")
	b.reach("a.do")
	enter()
	b.reach("button.do")
	enter()
	if l := w.JobAs(pagestest.Job).Surface("C1").Layer(4); l.Share != 1 {
		t.Errorf("layer 4 is in place over %v", l.Share)
	}
	// The first stop of the keyboard leads past the head of the page.
	b.call("press the tabulator", chromedp.KeyEvent(kb.Tab))
	if got := eval[string](b, `document.activeElement.textContent`); got != "Skip to the page" {
		t.Errorf("the first stop is %q", got)
	}
	b.quiet(host)
}
