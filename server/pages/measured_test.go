package pages_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// A sound test is said on the pages of what was tested, with its verdict and a way to it, and on those of nothing else.
func TestMeasuredIsSaidWhereItBelongs(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	test := func(quantity string, value float64, rooms, surface string) {
		t.Helper()
		w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, fmt.Sprintf(
			`{"do":"sound_test","quantity":%q,"value_db":%g,"source_room":%q,"receiving_room":"b","surfaces":[%q],"body":"An invented tester"}`, quantity, value, rooms, surface))
	}
	where := map[string]string{"job": lantern, "C1": c1, "C1 prediction": c1 + "/prediction", "W1": lantern + "/s/W1", "W1 prediction": lantern + "/s/W1" + "/prediction"}
	says := func(name string) string {
		return strings.ReplaceAll(page(t, w, where[name]).one(t, "main").words(), "\u202f", " ")
	}
	for name := range where {
		if strings.Contains(says(name), "Measured:") {
			t.Errorf("%s: measured before anything was", name)
		}
	}
	test("dntw_ctr", 42, "a", "C1")
	test("dntw_ctr", 42.8, "c", "C1") // a shortfall of any size fails
	test("dntw_ctr", 43, "e", "W1")
	test("dntw_ctr", 44, "f", "W1")
	test("rw", 50, "e", "W1")
	for name, want := range map[string][]string{
		"C1": {"Measured: DnT,w + Ctr 42 dB, target 43 dB: failed. Sound test of C1", "Measured: DnT,w + Ctr 42.8 dB, target 43 dB: failed."},
		"W1": {"Measured: DnT,w + Ctr 43 dB, target 43 dB: passed. Sound test of W1", "Measured: DnT,w + Ctr 44 dB, target 43 dB: passed.", "Measured: Rw 50 dB, no target to compare with."},
	} {
		other := map[string]string{"C1": "of W1", "W1": "of C1"}[name]
		for _, on := range []string{name, name + " prediction", "job"} {
			got := says(on)
			for _, one := range want {
				if strings.Count(got, one) != 1 {
					t.Errorf("%s: %q is not said once in\n%s", on, one, got)
				}
			}
			if on != "job" && strings.Contains(got, "Sound test "+other) {
				t.Errorf("%s: it tells of a test %s", on, other)
			}
		}
	}
	// Of two tests between the same rooms the worse one counts, and the other says so.
	test("dntw_ctr", 45, "a", "C1")
	if got := says("C1"); !strings.Contains(got, "Measured: DnT,w + Ctr 45 dB, target 43 dB: passed; a worse test between the same rooms counts.") {
		t.Errorf("two tests between the same rooms: %s", got)
	}
	// Each link leads to its test.
	links := 0
	for _, a := range page(t, w, lantern).all("a") {
		path, anchor, _ := strings.Cut(a.attr["href"], "#")
		if !strings.HasPrefix(a.words(), "Sound test of") {
			continue
		}
		links++
		if r := get(t, w, path); r.status != http.StatusOK || len(parsePage(t, r.body).all("#"+anchor)) != 1 {
			t.Errorf("%s leads nowhere", a.attr["href"])
		}
	}
	if links != 6 {
		t.Errorf("%d links to 6 tests", links)
	}
}

// Whoever signs off against a sound test that failed is told, and says why; elsewhere nothing is asked.
func TestSignOffAgainstAFailedTest(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job,
		`{"do":"sound_test","quantity":"dntw_ctr","value_db":42,"source_room":"a","receiving_room":"b","surfaces":["X1"],"body":"An invented tester"}`)
	const failed = "Sound test of X1. Measured: DnT,w + Ctr 42 dB, target 43 dB: failed."
	for path, told := range map[string]bool{"/sign-off": true, "/s/X1/sign-off": true, "/s/C1/sign-off": false, "/sign": true} {
		if got := strings.ReplaceAll(page(t, w, lantern+path).one(t, "main").words(), "\u202f", " "); strings.Contains(got, failed) != told {
			t.Errorf("%s: told %v, want %v: %s", path, !told, told, got)
		}
	}
	to := lantern + "/s/X1/sign-off"
	if got := refused(t, post(t, w, to, url.Values{"name": {"M. T."}})).one(t, "#f-note-error").words(); got != "Say why it is signed off all the same." {
		t.Errorf("without a reason it says %q", got)
	}
	if n := len(w.JobAs(pagestest.Job).Of("sign_off")); n != 0 {
		t.Fatalf("%d sign-offs without a reason", n)
	}
	if r := post(t, w, to, url.Values{"name": {"M. T."}, "note": {"The door between the rooms is still missing."}}); r.status != http.StatusSeeOther {
		t.Errorf("with a reason: %d %s", r.status, parsePage(t, r.body).one(t, ".errors").words())
	}
	if n := len(w.JobAs(pagestest.Job).Of("sign_off")); n != 1 {
		t.Errorf("%d sign-offs with a reason, want 1", n)
	}
}
