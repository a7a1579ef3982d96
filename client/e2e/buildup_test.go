package e2e_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// What a build-up comes to follows what is typed, without a button; the fields stay as they were typed, and what can't be worked out is
// said. Nothing is recorded by it.
func TestBuildUpFollowsTheTyping(t *testing.T) {
	b := open(t)
	w, host := world(t, jobs.Supervisor, pagestest.Options{})
	records := len(w.JobAs(pagestest.Job).Records)
	b.call("sit at a desk", chromedp.EmulateViewport(1280, 900))
	b.visit("http://" + host + lantern + "/s/W1/specify")
	b.tap("[value=open-2]")
	before := b.text("[data-live=sums]")
	mass := "#f-layer-mass_kg_m2"
	eval[string](b, `document.querySelector('`+mass+`').value = ''`)
	b.call("type a heavier board", chromedp.SendKeys(chromedp.CSS(mass), "55.5"))
	b.call("see the sums change", chromedp.Poll[chromedp.Void](`document.querySelector('[data-live=line-2]').textContent.includes('55.5')`))
	if after := b.text("[data-live=sums]"); after == before {
		t.Errorf("the sums stay as they were: %s", after)
	}
	if got := eval[string](b, `document.querySelector('`+mass+`').value`); got != "55.5" {
		t.Errorf("the field holds %q", got)
	}
	if got := eval[string](b, `document.activeElement.id`); got != strings.TrimPrefix(mass, "#") {
		t.Errorf("the focus went to %q", got)
	}
	b.call("type what is no number", chromedp.SendKeys(chromedp.CSS(mass), "x"))
	b.call("see that it is said", chromedp.Poll[chromedp.Void](`[...document.querySelectorAll('[data-live]')].some(e => e.textContent.includes('write a number only'))`))
	if now := len(w.JobAs(pagestest.Job).Records); now != records {
		t.Errorf("typing left %d records, there were %d", now, records)
	}
	b.quiet(host)
}

// A home without a job says what to do first, and everything it offers is there.
func TestFirstRun(t *testing.T) {
	b := open(t)
	w := pagestest.New(t, pagestest.Options{})
	w.As(pagestest.Maren, jobs.Supervisor)
	host := serve(t, w)
	for _, width := range []int64{320, 1280} {
		b.call("set the screen", chromedp.EmulateViewport(width, 800))
		b.visit("http://" + host + "/")
		if got := eval[int64](b, `document.documentElement.scrollWidth`); got > width {
			t.Errorf("it is %d px wide on a screen of %d", got, width)
		}
	}
	links := eval[[]string](b, `[...document.querySelectorAll('.first-run a')].map(a => a.getAttribute('href'))`)
	if len(links) < 3 || !strings.Contains(b.text(".first-run"), "client job import") {
		t.Errorf("it offers %v", links)
	}
	eval[bool](b, axe(t)+";true")
	if found := eval[string](b, axeRun, chromedp.EvalAwaitPromise); found != "[]" {
		t.Errorf("accessibility: %s", found)
	}
}
