package e2e_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// A firm of which nothing is recorded yet, then one job without a surface, then a surface without layers: every page of the menu and of the
// job says what is so and shows where it goes on, and none has a table without a line.
func TestEmptyFirm(t *testing.T) {
	source := axe(t)
	b := open(t)
	s := freshServer(t)
	b.visit(s.URL + "/set-up")
	b.fill(typed{"code", s.SetUpCode}, typed{"company", "Quillmarsh Linings (invented)"}, typed{"name", "Maren Tolleby"}, typed{"login", "maren"}, typed{"password", deskPassword})
	b.tap("form.form button.do")
	b.fill(typed{"login", "maren"}, typed{"password", deskPassword})
	b.tap("form.form button.do")
	walked := map[string]bool{}
	walk := func(when string, paths ...string) {
		t.Helper()
		for _, path := range paths {
			walked[path] = true
			b.visit(s.URL + path)
			b.look(source, path+", "+when)
			if n := eval[int64](b, `[...document.querySelectorAll('main table')].filter(t => !t.querySelector('tbody tr')).length`); n > 0 {
				t.Errorf("%s, %s: %d tables without a line", path, when, n)
			}
			if says := strings.TrimSpace(b.text("h1")); says == "" || strings.HasPrefix(says, "0 ") {
				t.Errorf("%s, %s: it answers %q", path, when, says)
			}
		}
	}
	// goesOn is where a page leads first.
	goesOn := func(to string, paths ...string) {
		t.Helper()
		for _, path := range paths {
			b.visit(s.URL + path)
			if n := eval[int64](b, `document.querySelectorAll('main a[href="`+to+`"]').length`); n == 0 {
				t.Errorf("%s does not lead to %s", path, to)
			}
		}
	}
	walk("no job", "/", "/queue", "/outcomes", "/outcomes-correction", "/firm", "/new-job", "/people", "/devices", "/guests", "/aside", "/account", "/guide", "/evidence", "/privacy", "/privacy/old", "/privacy/looks", "/privacy/search", "/notices")
	goesOn("/new-job", "/", "/queue", "/outcomes", "/guests")
	goesOn("/account", "/devices")
	goesOn("/firm/price", "/firm")
	b.visit(s.URL + "/")
	for _, href := range eval[[]string](b, `[...document.querySelectorAll('.head nav a')].map(a => a.getAttribute('href'))`) {
		if !walked[href] {
			t.Errorf("%s stands in the menu and was not looked at", href)
		}
	}

	b.visit(s.URL + "/new-job")
	b.fill(typed{"name", "4 Tannery Yard (invented)"})
	b.tap("form.form button.do")
	job := strings.TrimSuffix(eval[string](b, `location.pathname`), "/office")
	of := func(pages ...string) []string {
		for i, p := range pages {
			pages[i] = job + p
		}
		return pages
	}
	walk("no surface", of("", "/office", "/survey", "/take-off", "/quotes", "/tests", "/non-conformances", "/handover", "/disputes", "/history", "/held")...)
	goesOn(job+"/surface", of("", "/office", "/take-off", "/handover")...)
	b.visit(s.URL + job + "/handover")
	if says := b.text("main"); strings.Contains(says, "may be handed over") || strings.Contains(says, "Client accepts the work") {
		t.Errorf("a job without a surface: %s", says)
	}

	b.visit(s.URL + job + "/surface")
	b.fill(typed{"code", "W1"}, typed{"width_m", "4"}, typed{"height_m", "2.5"})
	b.call("choose what it is", chromedp.Click(chromedp.CSS(`[name="kind"][value="wall"]`)))
	b.tap("form.form button.do")
	walk("nothing specified", of("", "/office", "/take-off", "/handover", "/s/W1", "/s/W1/specify", "/s/W1/prediction")...)
	goesOn(job+"/s/W1/specify", of("", "/take-off", "/s/W1", "/s/W1/prediction")...)
	if says := b.text("main"); strings.Contains(says, "as if nothing stood there") {
		t.Errorf("the prediction of nothing: %s", says)
	}
	b.visit(s.URL + job)
	if says := b.text("h1"); strings.Contains(says, "in place") {
		t.Errorf("a job of which nothing is specified says %q", says)
	}
}
