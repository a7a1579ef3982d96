package e2e_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
)

// The longest menu takes one line of a phone; what does not fit opens beneath it, and a wide screen shows all at once.
func TestTheMenuTakesOneLine(t *testing.T) {
	b := open(t)
	_, host := world(t, jobs.Supervisor, pagestest.Options{Link: pages.Link{State: pages.LinkDone}})
	b.visit("http://" + host + "/")
	inSight := func() string {
		return eval[string](b, `[...document.querySelectorAll('.head nav a, .head summary')].filter(e => e.checkVisibility()).map(e => e.textContent).join(', ')`)
	}
	for _, width := range []int64{320, 360, 414} {
		b.call("hold a phone", chromedp.EmulateViewport(width, 800, chromedp.EmulateMobile))
		if got := inSight(); got != "Jobs, Scan, To be seen, More" {
			t.Errorf("at %d px the menu shows %s", width, got)
		}
		if got := eval[float64](b, `document.querySelector('.head nav').getBoundingClientRect().height`); got < 44 || got > 64 {
			t.Errorf("at %d px the menu is %v px high", width, got)
		}
	}
	b.reach(".head summary")
	b.call("open it", chromedp.KeyEvent(kb.Enter))
	if got := inSight(); !strings.HasSuffix(got, "More, Outcomes, To be sent, Help") {
		t.Errorf("opened, the menu shows %s", got)
	}
	b.follow(`a[href="/outcomes"]`)
	if got := eval[string](b, "location.pathname"); got != "/outcomes" {
		t.Errorf("the menu leads to %s", got)
	}
	b.call("sit at a desk", chromedp.EmulateViewport(1280, 800))
	if got := inSight(); got != "Jobs, Scan, To be seen, Outcomes, To be sent, Help" {
		t.Errorf("at 1280 px the menu shows %s", got)
	}
	b.follow(`a[href="/guide"]`)
}
