package e2e_test

import (
	"strconv"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tacet/jobs"
	"tacet/server/live"
	"tacet/server/pages/pagestest"
)

// What a colleague records shows on a supervisor's open page by itself where nobody touches it; where somebody has opened
// something it is said, and nothing moves under the hand. A form that is being filled in keeps what was typed.
func TestOpenPagesHearNews(t *testing.T) {
	hub := live.New(live.Config{Life: 2 * time.Second})
	t.Cleanup(hub.Close)
	w := pagestest.New(t, pagestest.Options{Live: hub})
	w.Lantern()
	w.As(pagestest.Maren, jobs.Supervisor)
	b := open(t)
	host := serve(t, w)
	const heard = `document.body.dataset.at`
	position := func() string { t.Helper(); return eval[string](b, heard) }
	tell := func(edge string) {
		t.Helper()
		before := position()
		w.Record(pagestest.Idris, jobs.Site, pagestest.Job, edge)
		b.until("the position", heard+" !== '"+before+"'")
	}

	// Nobody touches it: the list is there by itself.
	b.visit("http://" + host + lantern)
	shown := b.text("main")
	eval[bool](b, `window.marker = 1; true`)
	tell(`{"do":"install","surface":"X1","layer":1,"share":1}`)
	b.until("the news", `document.querySelector('main').textContent.replace(/\s+/g, ' ').trim() !== `+strconv.Quote(shown))
	if !eval[bool](b, `window.marker === 1 && !document.querySelector('.changed')`) {
		t.Error("the page was loaded again, or says that it is old")
	}

	// Somebody has opened a part of it: it is said, and the page stays as it is.
	b.visit("http://" + host + lantern)
	b.call("open a part", chromedp.Click(chromedp.CSS("details.more summary")))
	tell(`{"do":"install","surface":"X1","layer":2,"share":1}`)
	b.until("the word that there is something new", `!!document.querySelector('.changed')`)
	if !eval[bool](b, `document.querySelector('details.more').open`) {
		t.Error("what somebody opened was closed under their hand")
	}

	// A form keeps what is typed, through news and through the end of a stream.
	b.visit("http://" + host + lantern + "/note")
	b.call("type", chromedp.SendKeys(chromedp.CSS("textarea"), "half a sentence"))
	tell(`{"do":"note","text":"from the site (invented)"}`)
	if got := eval[string](b, `document.querySelector('textarea').value`); got != "half a sentence" {
		t.Errorf("the form holds %q", got)
	}
	b.quiet(host)
}

// The answer to a form has the address of the form, or of nothing that can be looked at: it is not asked for again, and does not say that
// the record has changed because the empty form reads otherwise.
func TestAnswersAreNotAskedForAgain(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{})
	w.Lantern()
	b := open(t)
	host := serve(t, w)
	const asks = `(() => {
		let asked = 0
		const real = window.fetch
		window.fetch = (...of) => { asked++; return real(...of) }
		window.dispatchEvent(new Event('focus'))
		window.fetch = real
		return asked
	})()`
	b.visit("http://" + host + lantern + "/note")
	if got := eval[int](b, asks); got != 1 {
		t.Errorf("a page that is looked at again asks %d times", got)
	}
	eval[bool](b, `(() => { const form = document.querySelector("main form"); form.noValidate = true; form.requestSubmit(); return true })()`)
	b.until("the answer", `!!document.querySelector('.errors')`)
	if got := eval[int](b, asks); got != 0 {
		t.Errorf("the answer to a form asks %d times", got)
	}
}
