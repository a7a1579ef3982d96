package pages_test

import (
	"net/http"
	"strings"
	"testing"
)

// A date is asked for in one way on every page, with a hint; what is none is said at its field and nothing is recorded.
func TestDatesAreAskedForInOneWay(t *testing.T) {
	w := office(t)
	asked := 0
	crawl(t, w, func(path string, _ reply, doc *node) {
		hints := map[string]string{}
		for _, p := range doc.all("p") {
			if id := p.attr["id"]; strings.HasSuffix(id, "-hint") {
				hints[strings.TrimSuffix(id, "-hint")] = p.words()
			}
		}
		for _, in := range doc.all("input") {
			hint, kind := strings.ToLower(hints[in.attr["id"]]), in.attr["type"]
			isDate := kind == "date" || kind == "datetime-local"
			if isDate {
				asked++
			}
			if says := strings.Contains(hint, "a date") || strings.Contains(hint, "date and time"); says != isDate {
				t.Errorf("%s: %s is asked for as %s, and its hint is %q", path, in.attr["name"], kind, hint)
			}
		}
	})
	if asked == 0 {
		t.Fatal("no page asks for a date")
	}
	for path, name := range map[string]string{"/complaint": "received", "/quote": "valid_until"} {
		v := formOf(t, w, lantern+path)
		v.Set(name, "24/12/26")
		r := post(t, w, lantern+path, v)
		if r.status == http.StatusSeeOther {
			t.Errorf("%s took %s for a date", path, v.Get(name))
			continue
		}
		if got := parsePage(t, r.body).one(t, ".errors").words(); !strings.Contains(got, "Write the date as 2026-11-25.") {
			t.Errorf("%s says %q", path, got)
		}
	}
}
