package app_test

import (
	"net/url"
	"strconv"
	"strings"
	"testing"

	"tacet/jobs"
)

// What a stolen tablet sends lies aside; the office sees it on a page, takes in what was recorded before the theft, and nothing more. What
// is taken in waits to be answered.
func TestAsideOnPages(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	w.user(w.co, "o.ferry", jobs.Office)
	d := w.enrol(w.co, "p.stone", jobs.Site)
	r := d.record()
	job := d.importJob(r)
	d.sync(r)
	honest := d.do(r, job, `{"do":"install","surface":"C1","layer":1,"share":1}`)
	d.do(r, job, `{"do":"note","text":"by whoever has it now"}`)
	if err := w.Accounts.Revoke(t.Context(), d.id); err != nil {
		t.Fatal(err)
	}
	if n, err := r.SendAside(t.Context(), d.http); err != nil || n != 2 {
		t.Fatalf("%d set aside, %v", n, err)
	}
	office := w.signIn("o.ferry")
	if res := office.get("/aside"); res.status != 200 || !strings.Contains(string(res.body), "2 records to be looked at") {
		t.Errorf("the list: %d %.400s", res.status, res.body)
	}
	at := "/aside/" + d.id
	form := url.Values{"answer": {"admit"}, "upto": {strconv.FormatInt(honest[0].Run, 10)}, "own": {password}}
	for name, bad := range map[string]url.Values{
		"no answer":        {"own": {password}},
		"a wrong password": {"answer": {"admit"}, "own": {"wrong slate gutter"}},
		"no number":        {"answer": {"admit"}, "upto": {"all"}, "own": {password}},
		"no reason":        {"answer": {"refuse"}, "own": {password}},
	} {
		if res := office.post(at, bad, nil); res.status != 422 {
			t.Errorf("%s: %d", name, res.status)
		}
	}
	if res := office.post(at, form, nil); res.status != 303 {
		t.Fatalf("taking one in: %d %.600s", res.status, res.body)
	}
	if res := office.post(at, url.Values{"answer": {"refuse"}, "reason": {"after the theft"}, "own": {password}}, nil); res.status != 303 {
		t.Fatalf("taking nothing more: %d %.600s", res.status, res.body)
	}
	page := string(office.get(at).body)
	for _, want := range []string{", taken in", ", not taken", "0 records of"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q: %.900s", want, page)
		}
	}
	j, err := w.Replica.Job(t.Context(), w.co.ID, job)
	if err != nil {
		t.Fatal(err)
	}
	if held := j.Held(); len(held) != 1 || held[0].Kind != "install" {
		t.Errorf("%d records wait to be answered", len(held))
	}
	if res := office.get("/aside/01900000-0000-7000-8000-00000000ffff"); res.status != 404 {
		t.Errorf("a device that nobody has: %d", res.status)
	}
}
