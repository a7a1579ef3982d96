package e2e_test

import (
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
)

const (
	lantern = "/jobs/" + pagestest.Job
	crowded = "/jobs/" + pagestest.Crowded
)

// world is the record of the tests, as somebody sees it.
func world(t *testing.T, role jobs.Role, o pagestest.Options) (w *pagestest.World, host string) {
	t.Helper()
	w = pagestest.New(t, o)
	w.Lantern()
	w.Crowd()
	if role == jobs.Supervisor {
		w.Office()
		w.As(pagestest.Maren, role)
	}
	return w, serve(t, w)
}

func (b *browser) show(host string, s shown) {
	b.t.Helper()
	b.visit("http://" + host + s.path)
	if s.send != "" {
		b.tap(s.send)
	}
	// Everything that is closed until asked is looked at as well, and from the end of the page: there the one action lies in its own place
	// and not over a line that a reader would scroll free.
	eval[bool](b, `document.querySelectorAll('details').forEach(d => { d.open = true }); scrollTo(0, document.documentElement.scrollHeight); true`)
}

func axe(t *testing.T) string {
	t.Helper()
	b, err := os.ReadFile("node_modules/axe-core/axe.min.js")
	if os.IsNotExist(err) {
		missing(t, "no axe-core here: run npm ci --prefix client/e2e; the rules of accessibility are not checked")
	}
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// violation is what axe reports of a rule.
type violation struct {
	ID    string `json:"id"`
	Nodes []struct {
		HTML    string `json:"html"`
		Summary string `json:"failureSummary"`
	} `json:"nodes"`
}

// The rules of WCAG 2.2 AA. Without its tag, axe leaves the size of targets out. Beyond AA, contrast is asked to be 7:1,
// because pages are read in daylight.
const axeRun = `axe.run(document, {runOnly: {type: 'tag', values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']},
	rules: {'color-contrast-enhanced': {enabled: true}}, resultTypes: ['violations']}).then(r => JSON.stringify(r.violations))`

func TestAccessibility(t *testing.T) {
	source := axe(t)
	for _, role := range []jobs.Role{jobs.Site, jobs.Supervisor} {
		t.Run(string(role), func(t *testing.T) {
			b := open(t)
			w, host := world(t, role, pagestest.Options{Link: pages.Link{State: pages.LinkOffline}})
			w.Hold(pagestest.Pavo, jobs.Site, "release", jobs.On{Surface: "C1", Layer: 3}, `{"checks":["K23"],"salt":"AAAAAAAAAAAAAAAAAAAAAA"}`)
			for i, s := range everyPage(w, role) {
				// A phone and a desk, by day and by night, in turn.
				width, scheme := int64(360), "light"
				if i%2 == 1 {
					width = 1280
				}
				if i%4 > 1 {
					scheme = "dark"
				}
				b.call("set the screen", chromedp.EmulateViewport(width, 800),
					call(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}))
				b.show(host, s)
				eval[bool](b, source+";true")
				var found []violation
				if err := json.Unmarshal([]byte(eval[string](b, axeRun, chromedp.EvalAwaitPromise)), &found); err != nil {
					t.Fatal(err)
				}
				for _, v := range found {
					for _, n := range v.Nodes[:min(2, len(v.Nodes))] {
						t.Errorf("%s at %d px, %s: %s: %.300s\n%s", s.path+s.send, width, scheme, v.ID, n.HTML, n.Summary)
					}
				}
			}
		})
	}
}

// small lists controls that a gloved thumb would miss: below least CSS pixels high, or less than 24 wide.
const small = `[...document.querySelectorAll('a, button, input:not([type=hidden]), select, textarea, summary')].filter(e => {
	const r = (e.closest('label') || e).getBoundingClientRect(), shut = e.closest('.skip')
	return !shut && r.width > 0 && (r.height < %d || r.width < 24)
}).map(e => e.outerHTML.slice(0, 120) + ' is ' + Math.round(e.getBoundingClientRect().height) + ' px high')`

// Every control is at least 44 px high; those of the site's own pages, where work is recorded, 56; the one action 76.
func TestTargetsAndReflow(t *testing.T) {
	for _, role := range []jobs.Role{jobs.Site, jobs.Supervisor} {
		t.Run(string(role), func(t *testing.T) {
			b := open(t)
			w, host := world(t, role, pagestest.Options{Link: pages.Link{State: pages.LinkDone}})
			for _, s := range everyPage(w, role) {
				b.call("set the screen", chromedp.EmulateViewport(360, 800))
				b.show(host, s)
				for _, e := range eval[[]string](b, fmt.Sprintf(small, 44)) {
					t.Errorf("%s: %s", s.path+s.send, e)
				}
				if strings.Contains(s.path, "/s/") {
					for _, e := range eval[[]string](b, strings.Replace(fmt.Sprintf(small, 56), "a, button, input", ".do, .or, .deeds a, .checks a, .layers summary, .form input", 1)) {
						t.Errorf("%s, on site: %s", s.path+s.send, e)
					}
				}
				for _, h := range eval[[]float64](b, `[...document.querySelectorAll('.do')].map(e => e.getBoundingClientRect().height)`) {
					if h < 76 {
						t.Errorf("%s: the one action is %v px high", s.path, h)
					}
				}
				for _, width := range []int64{320, 360, 1280} {
					b.call("set the screen", chromedp.EmulateViewport(width, 800))
					if got := eval[int64](b, `document.documentElement.scrollWidth`); got > width {
						t.Errorf("%s is %d px wide on a screen of %d", s.path+s.send, got, width)
					}
				}
				// Text at twice its size, at the width of a small phone held upright.
				b.call("set the screen", chromedp.EmulateViewport(360, 800))
				if got := eval[int64](b, `document.documentElement.style.fontSize = '200%'; document.documentElement.scrollWidth`); got > 360 {
					t.Errorf("%s is %d px wide with text at twice its size", s.path+s.send, got)
				}
			}
			b.quiet(host)
		})
	}
}
