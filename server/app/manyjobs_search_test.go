package app_test

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
)

// Looking for somebody reads every job. Where these are many the page says how far it is; it may be stopped, unless it erases; what was found
// is shown once, and to nobody but who asked.
func TestLookingForSomebodySaysHowFarItIs(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	_, job, _ := complained(t, w)
	other := w.enrol(w.co, "an.other", jobs.Supervisor)
	rec := other.record()
	for range 45 {
		other.importJob(rec)
	}
	other.sync(rec)
	w.user(w.co, "m.reed", jobs.Owner)
	owner, office := w.signIn("m.reed"), w.signIn("o.ferry")
	for began := time.Now(); !strings.Contains(string(office.get("/").body), "<h1>46 jobs.</h1>") && time.Since(began) < time.Minute; {
		time.Sleep(20 * time.Millisecond) // the list itself is read first
	}

	begin := func(path string, form url.Values) string {
		t.Helper()
		r := office.post(path, form, nil)
		to := r.header.Get("Location")
		if r.status != 303 || !strings.HasPrefix(to, path+"?work=") {
			t.Fatalf("%s: %d to %q, %.600s", path, r.status, to, r.body)
		}
		return to
	}
	follow := func(to string) (last response, said string) {
		t.Helper()
		for began := time.Now(); time.Since(began) < time.Minute; time.Sleep(5 * time.Millisecond) {
			if last = office.get(to); last.header.Get("Refresh") == "" {
				return last, said
			}
			said = string(last.body)
		}
		t.Fatalf("%s works for more than a minute", to)
		return last, said
	}
	her := url.Values{"words": {"lindqvist"}}

	to := begin("/privacy/search", her)
	if r := owner.get(to); r.status != 303 {
		t.Errorf("somebody else is answered %d", r.status)
	}
	r, said := follow(to)
	if !strings.Contains(said, " of 46 jobs.") || !strings.Contains(said, "stop=1") {
		t.Errorf("meanwhile: %.900s", said)
	}
	if r.status != 200 || !strings.Contains(string(r.body), "1 record held about") {
		t.Errorf("found: %d %.600s", r.status, r.body)
	}
	if again := office.get(to); again.status != 303 || again.header.Get("Location") != "/privacy/search" {
		t.Errorf("the same once more: %d %s", again.status, again.header.Get("Location"))
	}

	to = begin("/privacy/search", her)
	if r := office.get(to + "&stop=1"); r.status != 303 || r.header.Get("Location") != "/privacy" {
		t.Errorf("stopped: %d %s", r.status, r.header.Get("Location"))
	}
	if r := office.get(to); r.status != 303 {
		t.Errorf("after it was stopped: %d", r.status)
	}

	if r, _ := follow(begin("/privacy/export", her)); r.header.Get("Content-Type") != "application/zip" || !strings.HasPrefix(string(r.body), "PK") {
		t.Errorf("the copy: %d %s", r.status, r.header.Get("Content-Type"))
	}
	if r, _ := follow(begin("/privacy/erase", her)); !strings.Contains(string(r.body), "Erase it for ever") || words(t, w, job) != lodger {
		t.Errorf("asked: %.600s", r.body)
	}
	sure := url.Values{"words": {"lindqvist"}, "own": {"wrong slate gutter"}}
	if r, _ := follow(begin("/privacy/erase", sure)); r.status != 422 || words(t, w, job) != lodger {
		t.Errorf("with a wrong password: %d", r.status)
	}
	sure.Set("own", password)
	to = begin("/privacy/erase", sure)
	office.get(to + "&stop=1") // it is not stopped half way
	r, said = follow(to)
	if strings.Contains(said, "stop=1") {
		t.Error("erasing offers to be stopped")
	}
	if !strings.Contains(string(r.body), "1 record erased") || words(t, w, job) != jobs.Erased {
		t.Errorf("erased: %d %.600s", r.status, r.body)
	}
	if page := string(owner.get("/privacy/looks").body); !strings.Contains(page, "Took a copy of what is held about somebody") || !strings.Contains(page, "Erased what named somebody") {
		t.Error("who looked does not say so")
	}
}
