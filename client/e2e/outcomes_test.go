package e2e_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// pictures is a folder in which a test leaves what it has seen, for people to look at: none unless it is asked for.
var pictures = os.Getenv("TACET_SHOTS")

// keep leaves a picture of the whole page.
func (b *browser) keep(name string) {
	b.t.Helper()
	if pictures == "" {
		return
	}
	shot, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(pictures, name+".png"), shot, 0o600); err != nil {
		b.t.Fatal(err)
	}
}

// loaded asks for every picture of the page, those below the fold as well, and lists those that could not be drawn.
const loaded = `Promise.all([...document.images].map(i => { i.loading = 'eager'; return i.decode().catch(() => {}) })).then(() => [...document.images].filter(i => !i.naturalWidth).map(i => i.currentSrc).join())`

// wide lists what sticks out of the screen.
const wide = `[...document.querySelectorAll('main *')].filter(e => e.getBoundingClientRect().right > innerWidth + 1).slice(0, 3).map(e => e.outerHTML.slice(0, 100)).join()`

// A firm of 84 jobs, as its director sees it on a phone and at a desk: every finding has its place, nothing sticks out, each
// chart is drawn, and the rules of accessibility hold.
func TestOutcomesAreSeen(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{})
	w.Years(84)
	w.As(pagestest.Maren, jobs.Supervisor)
	b := open(t)
	host, source := serve(t, w), axe(t)
	const family = "/outcomes/W-independent-2-masonry"
	for _, width := range []int64{360, 1280} {
		b.call("set the screen", chromedp.EmulateViewport(width, 800))
		for _, path := range []string{"/outcomes", family, "/outcomes/C-bar-2-joists", "/outcomes-correction", family + "/review"} {
			b.show(host, shown{path: path})
			if missing := eval[string](b, loaded, chromedp.EvalAwaitPromise); missing != "" {
				t.Errorf("%s at %d px: not drawn: %s", path, width, missing)
			}
			if out := eval[string](b, wide); out != "" {
				t.Errorf("%s at %d px: sticks out: %s", path, width, out)
			}
			b.keep(fmt.Sprintf("%s-%d", strings.ReplaceAll(strings.Trim(path, "/"), "/", "-"), width))
			if width == 1280 || strings.Contains(path, "bar") {
				continue
			}
			eval[bool](b, source+";true")
			var found []violation
			if err := json.Unmarshal([]byte(eval[string](b, axeRun, chromedp.EvalAwaitPromise)), &found); err != nil {
				t.Fatal(err)
			}
			for _, v := range found {
				t.Errorf("%s at %d px: %s: %.300s", path, width, v.ID, v.Nodes[0].HTML)
			}
		}
	}
	b.visit("http://" + host + "/outcomes")
	says := strings.Join(strings.Fields(eval[string](b, `document.querySelector('main').textContent`)), " ")
	for _, want := range []string{"Consider whether it is still worth its time", "Consider making it a stop check", "more often on a fitter's first three surfaces", "Asks for a review",
		"Brier score on jobs that the fit had not seen", "Jobs with more of it had trouble more often", "This does not say why", "spread between families"} {
		if !strings.Contains(says, want) {
			t.Errorf("the page does not say %q", want)
		}
	}

	// The mark, on and off, each with its reason.
	b.visit("http://" + host + family)
	for _, step := range []struct{ button, reason, then string }{
		{"Mark for review", "three walls below what was predicted", "Marked for review: three walls below what was predicted"},
		{"Clear the mark", "edge detail changed", "Mark for review"},
	} {
		if got := b.text("p.act a"); got != step.button {
			t.Fatalf("the button is %q, want %q", got, step.button)
		}
		b.tap("p.act a")
		eval[bool](b, `document.querySelector('textarea').value = ''; true`) // what the rule proposes
		b.call("type", chromedp.SendKeys(chromedp.CSS("textarea"), step.reason))
		b.tap(".do")
		if says := b.text("main"); !strings.Contains(says, step.then) {
			t.Errorf("after %q the page does not say %q", step.button, step.then)
		}
		b.keep("mark-" + strings.Fields(step.button)[0])
	}

	// The correction: visible beside a prediction after it is switched on, gone after it is switched off.
	prediction := "http://" + host + "/jobs/" + firstWall(t, w) + "/s/W1/prediction"
	for _, on := range []bool{true, false} {
		b.visit("http://" + host + "/outcomes-correction")
		b.call("type", chromedp.SendKeys(chromedp.CSS("textarea"), "what was measured in our own jobs"))
		b.tap(".do")
		b.visit(prediction)
		if shown := strings.Contains(b.text("main"), "by the firm's own outcomes"); shown != on {
			t.Errorf("shown beside the prediction: %v, want %v", shown, on)
		}
		b.keep(fmt.Sprintf("prediction-%v", on))
	}
	b.quiet(host)
}

// firstWall is the id of a job with a wall of the family that was tested most.
func firstWall(t *testing.T, w *pagestest.World) string {
	t.Helper()
	for i := range 84 {
		id := pagestest.YearsJob(i)
		if s := w.JobAs(id).Surface("W1"); s != nil && len(s.Layers) == 3 {
			return id
		}
	}
	t.Fatal("no such wall")
	return ""
}
