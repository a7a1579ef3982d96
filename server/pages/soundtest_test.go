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
	// A retest begins at the test that it replaces, and offers those that it can replace: of the same quantity, between the same rooms or on the same surfaces.
	post(t, w, lantern+"/test", testForm("50", url.Values{"quantity": {"dntw"}})).mustSee(t, lantern+"/tests")
	post(t, w, lantern+"/test", testForm("50", url.Values{"surfaces": {"W1"}, "source_room": {"c"}})).mustSee(t, lantern+"/tests")
	plainForm := page(t, w, lantern+"/test")
	if n := len(plainForm.all("input[name=over]")); n != 0 || !strings.Contains(plainForm.one(t, "main").words(), "choose that one first") {
		t.Errorf("%d choices where nothing says what kind of test it is", n)
	}
	if n := len(page(t, w, lantern+"/test?over="+bad).all("input[name=over]")); n != 3 {
		t.Errorf("%d choices of none and the 2 tests of the same quantity on C1", n)
	}
	again := formOf(t, w, lantern+"/test?over="+bad)
	for name, want := range map[string]string{"over": bad, "quantity": "dntw_ctr", "source_room": "a", "receiving_room": "b", "surfaces": "C1", "body": "An invented tester", "value_db": "", "note": ""} {
		if got := again.Get(name); got != want {
			t.Errorf("%s of the retest: %q, want %q", name, got, want)
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
	if got := tests(); !strings.Contains(got, "4 sound tests, none fails.") || !strings.Contains(got, "with 41 dB: The edge was sealed.") {
		t.Errorf("replaced: %s", got)
	}
}

// Whose word would not replace another's test is not offered it.
func TestOnlyWhatOneMayReplaceIsOffered(t *testing.T) {
	w := lanternWorld(t)
	test := w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"sound_test","quantity":"dntw_ctr","value_db":41,"source_room":"a","receiving_room":"b","surfaces":["C1"],"body":"An invented tester"}`)[0].ID
	for who, want := range map[string]int{pagestest.Maren: 2, pagestest.Idris: 0} {
		w.As(who, jobs.Office)
		if n := len(page(t, w, lantern+"/test?over="+test).all("input[name=over]")); n != want {
			t.Errorf("%s at the office: %d choices, want %d", who, n, want)
		}
		if got := strings.Contains(page(t, w, lantern+"/tests").one(t, "main").words(), "a test that replaces it"); got != (want > 0) {
			t.Errorf("%s at the office is led to a retest: %v", who, got)
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

// The rooms are offered as the job calls them and as an earlier test did, and anything else may be typed. The room that all surfaces face is ready.
func TestRoomsOfATestAreOffered(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	offered := func() string {
		var got []string
		doc := page(t, w, lantern+"/test")
		for _, f := range doc.all("input") {
			if name := f.attr["name"]; name == "source_room" || name == "receiving_room" {
				for _, o := range doc.one(t, "#"+f.attr["list"]).all("option") {
					got = append(got, name+" "+o.attr["value"])
				}
			}
		}
		return strings.Join(got, "\n")
	}
	j := w.JobAs(pagestest.Job)
	if len(j.Rooms) == 0 {
		t.Fatal("the job has no room to offer")
	}
	for _, r := range j.Rooms {
		for _, side := range []string{"source_room ", "receiving_room "} {
			if name := strings.TrimSpace(r.Code + " " + r.Name); !strings.Contains(offered(), side+name) {
				t.Errorf("%s%s is not offered: %s", side, name, offered())
			}
		}
	}
	post(t, w, lantern+"/test", testForm("45", url.Values{"source_room": {"the hall outside"}})).mustSee(t, lantern+"/tests")
	if !strings.HasPrefix(offered(), "source_room b\nsource_room the hall outside\n") {
		t.Errorf("the rooms of the test before: %s", offered())
	}
	const plain = "018f0000-0000-7000-8000-00000000a091"
	w.Import(plain, "ropewalk.json")
	ready := func() string { return formOf(t, w, "/jobs/"+plain+"/test").Get("receiving_room") }
	faced := w.JobAs(plain).Room(w.JobAs(plain).Surfaces[0].Room)
	if want := faced.Code + " " + faced.Name; ready() != want {
		t.Errorf("%q is ready, want the only room that is faced, %s", ready(), want)
	}
}
