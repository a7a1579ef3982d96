package pages_test

import (
	"net/http"
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
		// Templates are checked against their views with nothing in them and with everything: both sides of every condition.
		full := reflect.New(reflect.TypeOf(p.View)).Elem()
		fill(full, 0)
		for what, view := range map[string]any{"empty": p.View, "full": full.Interface()} {
			out, err := pages.Render(p, view)
			if err != nil {
				t.Errorf("%s, %s: %v", p.Path, what, err)
			} else if strings.Contains(out, "ZgotmplZ") {
				t.Errorf("%s, %s: a template puts a text where the escaper refuses it", p.Path, what)
			}
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
		if name := strings.TrimSuffix(filepath.Base(f), ".html"); !used[name] && name != "fail" && name != "working" {
			t.Errorf("no page uses %s", f)
		}
	}
}

// fill puts something into every field that can be set.
func fill(v reflect.Value, depth int) {
	if depth > 8 {
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Field(i); f.CanSet() || v.Type().Field(i).Anonymous {
				fill(f, depth+1)
			}
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
		fill(v.Index(0), depth+1)
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem(), depth+1)
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
	case reflect.String:
		v.SetString("/x")
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int:
		v.SetInt(3)
	case reflect.Float64:
		v.SetFloat(1.5)
	}
}

// A path of each page, in the record of the tests.
func examplePath(j *jobs.Job, p string) string {
	return strings.NewReplacer(":job", j.ID, ":surface", "C1", ":layer", "3", ":check", "K23", ":width", "328",
		":over", j.Records[len(j.Records)-1].ID, ":month", "3", ":room", "R1", ":structure", "J1", ":id", "none", ":sha", "none", "caution/:code", "caution/fire", ":code", "none").Replace(p)
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
	shared := styleAndScripts(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	crawl(t, w, func(path string, r reply, _ *node) {
		if n := len(r.body) + shared; n > 100<<10 {
			t.Errorf("%s: %d bytes with style and scripts, at most 100 kB", path, n)
		}
	})
}

// styleAndScripts is what every page loads besides itself, in bytes.
func styleAndScripts(t *testing.T) int {
	t.Helper()
	sum := 0
	for _, name := range []string{"tacet.css", "tacet.js"} {
		data := pages.Static(name)
		if len(data) == 0 {
			t.Fatalf("there is no %s", name)
		}
		sum += len(data)
	}
	if n := len(pages.Static("tacet.js")); n > 30<<10 {
		t.Errorf("scripts: %d bytes, at most 30 kB", n)
	}
	return sum
}
