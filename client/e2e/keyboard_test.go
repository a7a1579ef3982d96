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
// focus shows it and is not hidden behind the one action. It gives how often the key was pressed.
func (b *browser) reach(selector string) (keys int) {
	b.t.Helper()
	for keys = 1; keys <= 80; keys++ {
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
			return keys
		}
	}
	b.t.Fatalf("the keyboard does not reach %s", selector)
	return 0
}

// keyTo sends a key to what has the focus and waits for the page that it leads to.
func (b *browser) keyTo(key string) {
	b.t.Helper()
	if _, err := chromedp.Run(b.ctx, chromedp.WaitEvent(page.LoadEventFired, nil, chromedp.KeyEvent(key))); err != nil {
		b.t.Fatalf("press a key on %s: %v", eval[string](b, `document.activeElement.outerHTML.slice(0, 160)`), err)
	}
}

// follow reaches a link or a button and presses enter on it.
func (b *browser) follow(selector string) {
	b.t.Helper()
	b.reach(selector)
	b.keyTo(kb.Enter)
}

// typeInto reaches a field and types into it; whatever stood there is selected by the tabulator and replaced.
func (b *browser) typeInto(selector, text string) {
	b.t.Helper()
	b.reach(selector)
	b.call("type", chromedp.KeyEvent(text))
}

// handsOff counts what a mouse or a finger does, over all pages that follow.
const handsOff = `for (const kind of ['mousedown', 'mousemove', 'wheel', 'touchstart', 'pointerdown'])
	window.addEventListener(kind, () => sessionStorage.setItem('hand', kind), true)`

// keyboardOnly opens the first page for somebody; end fails the test when anything but a key was used.
func keyboardOnly(t *testing.T, role jobs.Role) (b *browser, w *pagestest.World, end func()) {
	t.Helper()
	b = open(t)
	w, host := world(t, role, pagestest.Options{})
	b.call("watch the hands", call(page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: handsOff}),
		chromedp.EmulateViewport(820, 700))
	b.visit("http://" + host + "/")
	return b, w, func() {
		t.Helper()
		if got := eval[string](b, `sessionStorage.getItem('hand') || ''`); got != "" {
			t.Errorf("there was a %s", got)
		}
		b.quiet(host)
	}
}

// The five main tasks with the keyboard alone, from the first page to what is recorded: no address is typed and nothing is pointed
// at, and whatever has the focus on the way shows it.

func TestKeyboardRecordsACheckAndALayer(t *testing.T) {
	b, w, end := keyboardOnly(t, jobs.Site)
	defer end()
	b.follow(`a[href="` + lantern + `/s/C1"]`)
	b.follow("a.do")
	b.reach("#f-result-0")
	b.call("choose", chromedp.KeyEvent(" "))
	b.typeInto("#f-measured-gap_mm", "4")
	b.follow("button.do")
	if c := w.JobAs(pagestest.Job).Surface("C1").Check("K23", 3); c.State != jobs.CheckPassed {
		t.Fatalf("K23 is %s", c.State)
	}
	// A pass without a photo is somebody's word: the supervisor's own opens the next layer.
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"release","surface":"C1","layer":3,"checks":["K23"]}`)
	b.call("look again", chromedp.Reload())
	// The first stop of the keyboard leads past the head of the page.
	b.call("press the tabulator", chromedp.KeyEvent(kb.Tab))
	if got := eval[string](b, `document.activeElement.textContent`); got != "Skip to the page" {
		t.Errorf("the first stop is %q", got)
	}
	b.follow("a.do")
	b.follow("button.do")
	if l := w.JobAs(pagestest.Job).Surface("C1").Layer(4); l.Share != 1 {
		t.Errorf("layer 4 is in place over %v", l.Share)
	}
}

func TestKeyboardAnswersTheQueue(t *testing.T) {
	b, w, end := keyboardOnly(t, jobs.Supervisor)
	defer end()
	b.follow(`a[href="/queue"]`)
	b.follow(`a[href="` + lantern + `/s/C1/3/answer"]`)
	b.reach("#f-answer-0")
	b.call("choose", chromedp.KeyEvent(" "))
	b.typeInto("#f-note", "Measured with him on the telephone.")
	b.follow("button.do")
	if l := w.JobAs(pagestest.Job).Surface("C1").Layer(3); l.State != jobs.Accepted {
		t.Errorf("layer 3 is %s", l.State)
	}
}

func TestKeyboardRulesOnADispute(t *testing.T) {
	b, w, end := keyboardOnly(t, jobs.Supervisor)
	defer end()
	disputed := func() int { return len(w.JobAs(pagestest.Job).Disputes) }
	before := disputed()
	b.follow(`a[href="/queue"]`)
	b.follow(`a[href="` + lantern + `/disputes"]`)
	b.reach(`.dispute [type=radio]`)
	b.call("choose the second", chromedp.KeyEvent(kb.ArrowDown))
	b.typeInto(`.dispute textarea`, "Measured again with both of them there.")
	b.follow(".dispute button.do")
	if got := disputed(); before == 0 || got != before-1 {
		t.Errorf("%d disputes, there were %d", got, before)
	}
}

func TestKeyboardRespecifiesALayer(t *testing.T) {
	b, w, end := keyboardOnly(t, jobs.Supervisor)
	defer end()
	b.follow(`a[href="` + lantern + `"]`)
	b.follow(`a[href="` + lantern + `/office"]`)
	b.follow(`a[href="` + lantern + `/s/W1/specify"]`)
	b.follow(`[value="open-2"]`)
	b.typeInto("#f-layer-mass_kg_m2", "11.5")
	b.typeInto("[name=reason]", "Lighter board, agreed with the client.")
	b.follow(`[value="record"]`)
	if got := w.JobAs(pagestest.Job).Surface("W1").Layer(2).Specified.MassKgM2(); got != 11.5 {
		t.Errorf("layer 2 is specified with %v kg/m²", got)
	}
}

// Whoever can't scan types the 13 letters and digits beneath the square code, in small letters and without the hyphens, O for 0 and I
// for 1. At 0.28 s a key, what an average typist needs (Card, Moran and Newell, 1980, from memory), that has to be done in 10 s.
func TestKeyboardOpensASheet(t *testing.T) {
	b, _, end := keyboardOnly(t, jobs.Site)
	defer end()
	code := strings.NewReplacer("0", "o", "1", "i").Replace(strings.ToLower(jobs.SheetCode(pagestest.Job, "C1")))
	keys := b.reach(`a[href="/s"]`) + 1
	b.keyTo(kb.Enter)
	keys += b.reach("#f-code") + len(code) + 1
	b.call("type", chromedp.KeyEvent(code))
	b.keyTo(kb.Enter)
	if got := eval[string](b, "location.pathname"); got != lantern+"/s/C1" {
		t.Errorf("the code leads to %s", got)
	}
	t.Logf("evidence: a sheet is opened by its typed code with %d keys from the first page, about %.0f s", keys, float64(keys)*0.28)
	if float64(keys)*0.28 > 10 {
		t.Errorf("a sheet takes %d keys", keys)
	}
}
