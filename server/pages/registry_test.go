package pages_test

import (
	"net/http"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
)

func TestEveryPageHasRolesAndATemplate(t *testing.T) {
	used := map[string]bool{}
	for _, p := range pages.Registered() {
		if len(p.Roles) == 0 {
			t.Errorf("%s: nobody may ask for it", p.Path)
		}
		if (p.View == nil) != (p.Name == "") {
			t.Errorf("%s: a page has a template and a view, a picture neither", p.Path)
		}
		if p.Name == "" {
			continue
		}
		used[p.Name] = true
		if err := pages.RenderZero(p); err != nil {
			t.Errorf("%s: %v", p.Path, err)
		}
		if _, ok := reflect.TypeOf(p.View).FieldByName("Answer"); !ok {
			t.Errorf("%s: its view has no answer to begin with", p.Path)
		}
	}
	files, err := filepath.Glob("html/[a-z]*.html")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if name := strings.TrimSuffix(filepath.Base(f), ".html"); !used[name] && name != "fail" {
			t.Errorf("no page uses %s", f)
		}
	}
}

// A path of each page, in the record of the tests.
func examplePath(j *jobs.Job, p string) string {
	return strings.NewReplacer(":job", j.ID, ":surface", "C1", ":layer", "3", ":check", "K23", ":width", "328",
		":over", j.Records[len(j.Records)-1].ID, ":sha", "none", "caution/:code", "caution/fire", ":code", "none").Replace(p)
}

func TestRoleMatrix(t *testing.T) {
	w := lanternWorld(t)
	j := w.JobAs(pagestest.Job)
	for _, p := range pages.Registered() {
		if p.Get == nil || p.Open || p.When != nil && !p.When(pages.Deps{Program: pages.Client}) {
			continue
		}
		path := examplePath(j, p.Path)
		for _, role := range jobs.Roles() {
			w.As(pagestest.Idris, role)
			got := get(t, w, path).status
			if may := slices.Contains(p.Roles, role); may == (got == http.StatusForbidden) {
				t.Errorf("%s as %s: %d, may open it: %v", path, role, got, may)
			}
		}
		w.Visitor = pages.Visitor{}
		if got := get(t, w, path).status; got != http.StatusUnauthorized {
			t.Errorf("%s with nobody signed in: %d, want 401", path, got)
		}
	}
	// What a role may not see it may not send either.
	w.As(pagestest.Pavo, jobs.Site)
	before := len(w.JobAs(pagestest.Job).Records)
	if got := post(t, w, c1+"/3/release", map[string][]string{"checks": {"K23"}}).status; got != http.StatusForbidden {
		t.Errorf("a fitter releases a stop check: %d", got)
	}
	if got := len(w.JobAs(pagestest.Job).Records); got != before {
		t.Errorf("%d records, before %d", got, before)
	}
}

func TestPagesStayLight(t *testing.T) {
	w := lanternWorld(t)
	w.Crowd()
	shared := 0
	for _, name := range []string{"tacet.css", "tacet.js"} {
		info, err := os.Stat("static/" + name)
		if err != nil {
			t.Fatal(err)
		}
		shared += int(info.Size())
	}
	if js, err := os.Stat("static/tacet.js"); err != nil || js.Size() > 30<<10 {
		t.Errorf("scripts: %v bytes (%v), at most 30 kB", js.Size(), err)
	}
	w.As(pagestest.Maren, jobs.Supervisor)
	crawl(t, w, func(path string, r reply, _ *node) {
		if n := len(r.body) + shared; n > 100<<10 {
			t.Errorf("%s: %d bytes with style and scripts, at most 100 kB", path, n)
		}
	})
}
