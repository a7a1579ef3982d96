package e2e_test

import (
	"testing"

	"github.com/chromedp/chromedp"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// again goes back with the browser's own button and sends the form that is there once more.
func (b *browser) again(form, to string) {
	b.t.Helper()
	eval[bool](b, `history.back(); true`)
	b.until("the form is back", `location.pathname === `+quote(form)+` && document.readyState === "complete" && document.querySelector("button.do")`)
	eval[bool](b, `document.querySelector('button.do').click(); true`)
	b.until("it is sent again", `location.pathname === `+quote(to)+` && document.readyState === "complete"`)
}

// Whoever goes back finds what was typed, and sending it again records nothing twice and says nothing is wrong; what was changed
// meanwhile is recorded.
func TestBackAndSendAgain(t *testing.T) {
	b := open(t)
	w, host := world(t, jobs.Site, pagestest.Options{})
	records := func() int { return len(w.JobAs(pagestest.Job).Records) }
	for _, test := range []struct {
		path, to, typed, text string
		fill                  []chromedp.Action[chromedp.Void]
	}{
		{path: lantern + "/note", to: lantern, typed: "#f-text", text: "The key is with the neighbour."},
		{path: lantern + "/s/C1/3/check/K23", to: lantern + "/s/C1", typed: "#f-note", text: "Two beads all round.",
			fill: []chromedp.Action[chromedp.Void]{chromedp.Click(chromedp.CSS("#f-result-0")), chromedp.SendKeys(chromedp.CSS("#f-measured-gap_mm"), "4")}},
		{path: lantern + "/s/X1/1/install", to: lantern + "/s/X1", typed: "#f-note", text: "Laps taped."},
		{path: lantern + "/s/X1/2/deliver", to: lantern + "/s/X1", typed: "#f-batch", text: "B-114 (invented)",
			fill: []chromedp.Action[chromedp.Void]{chromedp.SendKeys(chromedp.CSS("#f-quantity"), "10"), chromedp.SendKeys(chromedp.CSS("#f-unit"), "sheets")}},
	} {
		before := records()
		b.visit("http://" + host + test.path)
		b.call("fill in "+test.path, append(test.fill, chromedp.SendKeys(chromedp.CSS(test.typed), test.text))...)
		// Somebody reloads the page by mistake before it is sent.
		b.call("reload", chromedp.Reload())
		b.until("what was typed is there after "+test.path+" is reloaded", `document.querySelector(`+quote(test.typed)+`).value === `+quote(test.text))
		b.tap("button.do")
		if got := records() - before; got != 1 {
			t.Fatalf("%s recorded %d: %s", test.path, got, b.text("main"))
		}
		b.again(test.path, test.to)
		if got := records() - before; got != 1 {
			t.Errorf("%s, sent again after going back, recorded %d", test.path, got)
		}
		eval[bool](b, `history.back(); true`)
		b.until("the form is back", `location.pathname === `+quote(test.path)+` && document.querySelector(`+quote(test.typed)+`)?.value === `+quote(test.text))
	}
	b.quiet(host)
}
