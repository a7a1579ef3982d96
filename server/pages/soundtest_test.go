package pages_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
)

// testForm is a sound test as a person types it.
func testForm(value string, more url.Values) url.Values {
	v := url.Values{"quantity": {"dntw_ctr"}, "value_db": {value}, "source_room": {"a"}, "receiving_room": {"b"}, "surfaces": {"C1"}, "body": {"An invented tester"}}
	for k, x := range more {
		v[k] = x
	}
	return v
}

// A sound test that fails is the first thing to settle, on the page of the handover, on that of what was found wrong and on the first page of the
// pack, in the words of the job's page, until a new test replaces it with the reason.
func TestFailedTestIsToBeSettled(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	first := func(path, of string) *node {
		t.Helper()
		for _, s := range page(t, w, lantern+path).all("section") {
			if rows := s.all("li"); s.all("h2")[0].words() == of && len(rows) > 0 {
				return rows[0]
			}
		}
		return nil
	}
	plain := func(s string) string { return strings.ReplaceAll(s, "\u202f", " ") }
	open := func() string {
		return plain(strings.Join(pages.Pack(w.JobAs(pagestest.Job), pages.PackOptions{Printed: time.Date(2026, 11, 26, 12, 0, 0, 0, time.UTC)}).Open, "\n"))
	}
	if row := first("/non-conformances", "Sound tests that fail"); row != nil || strings.Contains(open(), "Sound test") {
		t.Fatal("a failed test before any")
	}
	post(t, w, lantern+"/test", testForm("41", nil)).mustSee(t, lantern+"/tests")
	bad := last(t, w.JobAs(pagestest.Job), "sound_test").ID
	said := func(want string) {
		t.Helper()
		for path, of := range map[string]string{"/handover": "What is missing", "/non-conformances": "Sound tests that fail"} {
			row := first(path, of)
			if row == nil || !strings.HasPrefix(plain(row.words()), "Sound test of C1 "+want) {
				t.Errorf("%s: %v, want %q first", path, row, want)
				continue
			}
			if a := row.one(t, "a"); a.attr["href"] != lantern+"/tests#test-"+bad {
				t.Errorf("%s: it leads to %s", path, a.attr["href"])
			}
		}
		if got := open(); !strings.HasPrefix(got, "Sound test of C1: "+want) {
			t.Errorf("the pack says first: %s", got)
		}
		if got := plain(page(t, w, lantern).one(t, "main").words()); !strings.Contains(got, want) {
			t.Errorf("the job's page says otherwise than %q", want)
		}
	}
	failed := "Measured: DnT,w + Ctr 41 dB, target 43 dB: failed"
	said(failed + ".")
	tests := func() string { return plain(page(t, w, lantern+"/tests").one(t, "main").words()) }
	if got := page(t, w, lantern+"/tests").one(t, "h1").words(); got != "1 of 1 sound test fails." {
		t.Errorf("one test: %s", got)
	}
	// Put right: it says so, and that only another test shows whether that was enough.
	post(t, w, lantern+"/right/"+bad, url.Values{"cause": {"method"}, "hours": {"2"}}).mustSee(t, lantern+"/tests")
	said(failed + ", put right since: a new test is wanted.")
	if got := tests(); !strings.Contains(got, "A new test is wanted") || strings.Contains(got, "Record it put right") {
		t.Errorf("put right: %s", got)
	}
	// A better test by itself takes nothing away.
	post(t, w, lantern+"/test", testForm("44", nil)).mustSee(t, lantern+"/tests")
	said(failed)
	if got := page(t, w, lantern+"/tests").one(t, "h1").words(); got != "1 of 2 sound tests fails." {
		t.Errorf("two tests: %s", got)
	}
	// The form offers both; none is chosen unless the way to it names one.
	for path, chosen := range map[string]string{"/test": "", "/test?over=" + bad: bad} {
		doc := page(t, w, lantern+path)
		if n := len(doc.all("input[name=over]")); n != 3 {
			t.Errorf("%s: %d choices of none and 2 tests", path, n)
		}
		if got := formOf(t, w, lantern+path).Get("over"); got != chosen {
			t.Errorf("%s: %q is chosen, want %q", path, got, chosen)
		}
	}
	for field, v := range map[string]url.Values{
		"f-note":   testForm("45", url.Values{"over": {bad}}),
		"f-over-0": testForm("45", url.Values{"over": {bad}, "note": {"sealed"}, "quantity": {"dntw"}}),
	} {
		r := post(t, w, lantern+"/test", v)
		if r.status != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", field, r.status)
			continue
		}
		if got := parsePage(t, r.body).one(t, ".errors").all("a")[0].attr["href"]; got != "#"+field {
			t.Errorf("%s: leads to %s", field, got)
		}
	}
	post(t, w, lantern+"/test", testForm("45", url.Values{"over": {bad}, "note": {"The edge was sealed"}})).mustSee(t, lantern+"/tests")
	if row := first("/non-conformances", "Sound tests that fail"); row != nil || strings.Contains(open(), "Sound test") || strings.Contains(page(t, w, lantern+"/handover").one(t, "main").words(), "Sound test of") {
		t.Error("replaced, and still to be settled")
	}
	if got := tests(); !strings.Contains(got, "2 sound tests, none fails.") || !strings.Contains(got, "with 41 dB: The edge was sealed.") {
		t.Errorf("replaced: %s", got)
	}
}

// Whose word would not replace another's test is not offered it.
func TestOnlyWhatOneMayReplaceIsOffered(t *testing.T) {
	w := lanternWorld(t)
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"sound_test","quantity":"dntw_ctr","value_db":41,"source_room":"a","receiving_room":"b","surfaces":["C1"],"body":"An invented tester"}`)
	for who, want := range map[string]int{pagestest.Maren: 2, pagestest.Idris: 0} {
		w.As(who, jobs.Office)
		if n := len(page(t, w, lantern+"/test").all("input[name=over]")); n != want {
			t.Errorf("%s at the office: %d choices, want %d", who, n, want)
		}
	}
}

// A test of what nothing is put up of yet is asked back once, and taken with the reason.
func TestTestBeforeTheWorkIsAskedBack(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	for _, s := range w.JobAs(pagestest.Job).Surfaces {
		up := false
		for _, l := range s.Layers {
			up = up || l.Share > 0
		}
		if s.Code == "X1" && up || s.Code == "C1" && !up {
			t.Fatalf("%s is not as the test needs it", s.Code)
		}
	}
	early := testForm("30", url.Values{"surfaces": {"X1"}})
	r := post(t, w, lantern+"/test", early)
	if r.status != http.StatusUnprocessableEntity {
		t.Fatalf("no layer of X1 is in place: %d", r.status)
	}
	if says := parsePage(t, r.body).one(t, ".errors").words(); !strings.Contains(says, "No layer is in place there yet.") {
		t.Errorf("it asks: %s", says)
	}
	early.Set("note", "Before the work")
	post(t, w, lantern+"/test", early).mustSee(t, lantern+"/tests")
	post(t, w, lantern+"/test", testForm("46", url.Values{"surfaces": {"X1", "C1"}})).mustSee(t, lantern+"/tests")
}
