package pages_test

import (
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/evidence"
	"tacet/server/pages/pagestest"
)

// Every link to published values says in words what it leads to, and the page behind it begins with the same words.
func TestEvidenceLinksSayWhatTheyLeadTo(t *testing.T) {
	w := lanternWorld(t)
	e, err := evidence.Gather()
	if err != nil {
		t.Fatal(err)
	}
	links, said := 0, map[string]bool{}
	for _, a := range page(t, w, "/evidence").all("a") {
		what, ok := strings.CutPrefix(a.attr["href"], "/evidence/published/")
		if !ok {
			continue
		}
		links++
		name := a.words()
		if len(strings.Fields(name)) < 3 || strings.Contains(name, "_") || said[name] {
			t.Errorf("the link to %s says %q", what, name)
		}
		said[name] = true
		if got := page(t, w, a.attr["href"]).one(t, "h1").words(); !strings.HasPrefix(got, name+": ") {
			t.Errorf("behind %q stands %q", name, got)
		}
	}
	if links != len(e.Published) || links < 50 {
		t.Errorf("%d links to %d kinds of published values", links, len(e.Published))
	}
}

// What the runs of the checks counted has a page of its own, which grows with them; each kept run stands on it.
func TestRunsHaveTheirPage(t *testing.T) {
	e, err := evidence.Gather()
	if err != nil {
		t.Fatal(err)
	}
	w := lanternWorld(t)
	found := false
	for _, a := range page(t, w, "/evidence").all("a") {
		found = found || a.attr["href"] == "/evidence/runs"
	}
	words := page(t, w, "/evidence/runs").words()
	for _, r := range e.Runs {
		if !strings.Contains(words, r.Step+": "+r.Result) {
			t.Errorf("the run %s is not shown", r.Step)
		}
	}
	if !found || len(e.Runs) == 0 {
		t.Errorf("led there: %v, %d runs", found, len(e.Runs))
	}
}

// What a page has one thing to show of is not hidden behind a tap.
func TestOnePartIsOpen(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	for path, open := range map[string]int{"/evidence": 0, "/evidence/runs": 0, "/evidence/published/sigma": 1} {
		n := 0
		for _, d := range page(t, w, path).all("details") {
			if _, is := d.attr["open"]; is {
				n++
			}
		}
		if n != open {
			t.Errorf("%s opens %d parts, want %d", path, n, open)
		}
	}
}
