package app_test

import (
	"log/slog"
	"net/url"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/app"
	"tacet/server/privacy"
)

// Who looked is forgotten by itself once its time is over, by one of the servers on a database, which tells so once. What people recorded
// stays: that an owner erases.
func TestWhoLookedGoesByItself(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		_, job, _ := complained(t, w)
		u := w.user(w.co, "a.judge", jobs.Supervisor)
		if err := w.Accounts.Note(t.Context(), w.co.ID, u.Person, "the history of a job", job); err != nil {
			t.Fatal(err)
		}
		others := w.company("Another (invented)")
		if err := w.Accounts.Note(t.Context(), others.ID, u.Person, "the history of a job", job); err != nil {
			t.Fatal(err)
		}
		if err := w.Accounts.Keep(t.Context(), others.ID, map[string]accounts.Keeping{"looks": {Days: 3 * 365}}); err != nil {
			t.Fatal(err)
		}
		said := words(t, w, job)
		looks := func(co string) int {
			t.Helper()
			list, err := w.Accounts.Looks(t.Context(), co, "", 10)
			if err != nil {
				t.Fatal(err)
			}
			return len(list)
		}
		var ahead, asked atomic.Int64 // days
		log := &logText{}
		for range 2 { // servers on one database
			s, err := app.Start(t.Context(), app.Config{Folder: w.folder, Listen: "127.0.0.1:0", Log: slog.New(slog.NewJSONHandler(log, nil)),
				Forget: app.ForgetConfig{Every: 20 * time.Millisecond, Now: func() time.Time {
					asked.Add(1)
					return time.Now().AddDate(0, 0, int(ahead.Load()))
				}}})
			if err != nil {
				t.Fatal(err)
			}
			stop := sync.OnceFunc(func() {
				if err := s.Stop(); err != nil {
					t.Error(err)
				}
			})
			t.Cleanup(stop)
		}
		rounds := func() { // that began after now
			t.Helper()
			for until, end := asked.Load()+8, time.Now().Add(20*time.Second); asked.Load() < until; time.Sleep(5 * time.Millisecond) {
				if time.Now().After(end) {
					t.Fatal("nothing looks for what is over its time")
				}
			}
		}
		ahead.Store(364) // a year is the time by default
		rounds()
		if n := looks(w.co.ID); n != 1 || strings.Contains(log.String(), "over its time") {
			t.Errorf("a day before: %d lines, log %s", n, log)
		}
		ahead.Store(366)
		rounds()
		if n, more := looks(w.co.ID), looks(others.ID); n != 0 || more != 1 {
			t.Errorf("a day after: %d lines, %d where they are kept longer", n, more)
		}
		if got := log.String(); strings.Count(got, `"msg":"over its time","company":"`+w.co.ID+`","class":"looks","days":365,"lines":1`) != 1 || strings.Count(got, "over its time") != 1 {
			t.Errorf("the log tells: %s", got)
		}
		if now := words(t, w, job); now != said {
			t.Errorf("what was recorded is %q", now)
		}
	})
}

// What an owner ordered to go by itself goes each day, in that owner's name, told in the log and in the list of who looked: once, though
// several servers look. What nobody ordered stays, however old; and once the owner is none any more nothing goes, which the log says.
func TestWhatAnOwnerOrderedGoesByItself(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d, job, _ := complained(t, w)
		boss := w.user(w.co, "m.reed", jobs.Owner)
		author := jobs.Author{Person: boss.Person, Role: jobs.Owner}
		record := func(edge string) {
			t.Helper()
			if _, err := w.Replica.Record(t.Context(), w.co.ID, author, job, edges(edge)); err != nil {
				t.Fatal(err)
			}
		}
		j, err := w.Replica.Job(t.Context(), w.co.ID, job)
		if err != nil {
			t.Fatal(err)
		}
		record(`{"do":"outcome","over":"` + j.Complaints()[0].Record.ID + `","outcome":"query_explained","cause":"expectation","confidence":"reasoned","found":"she had heard the lift"}`)
		record(`{"do":"note","text":"the key hangs behind the meter"}`)
		if err := w.Accounts.EndUser(t.Context(), "o.ferry"); err != nil {
			t.Fatal(err)
		}
		now := time.Now().AddDate(20, 0, 0)
		desk := &privacy.Desk{Record: w.Replica, Accounts: w.Accounts, Blobs: w.Blobs, Now: func() time.Time { return now }}
		daily := func() []privacy.Gone {
			t.Helper()
			gone, err := desk.Daily(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			return slices.DeleteFunc(gone, func(g privacy.Gone) bool { return g.Class == "looks" })
		}
		note := func() string {
			t.Helper()
			j, err := w.Replica.Job(t.Context(), w.co.ID, job)
			if err != nil {
				t.Fatal(err)
			}
			what, ok := j.Of("note")[0].What.(*jobs.Note)
			if !ok {
				t.Fatal("the note can't be read")
			}
			return what.Text
		}
		if gone := daily(); len(gone) != 0 || words(t, w, job) != lodger {
			t.Errorf("unless ordered, %+v goes", gone)
		}
		owner := w.signIn("m.reed")
		form := url.Values{"own": {password}, "itself": {"complaints", "accounts"}}
		for _, c := range []string{"contact", "complaints", "signatures", "notes", "accounts", "looks"} {
			form.Set(c, "400")
		}
		if res := owner.post("/privacy/times", form, nil); res.status != 303 {
			t.Fatalf("order it: %d %.300s", res.status, res.body)
		}
		if page := string(owner.get("/privacy").body); !strings.Contains(page, "Erased each day by itself, as "+boss.Name+" ordered.") {
			t.Errorf("the page does not say who ordered it: %s", page)
		}
		gone := daily()
		if page := string(owner.get("/privacy/looks").body); !strings.Contains(page, "Erased by standing order what was over its time") {
			t.Error("the list of who looked does not say so")
		}
		gone = append(gone, daily()...) // by another server, say; it takes away who looked today too, by the clock of this test
		slices.SortFunc(gone, func(a, b privacy.Gone) int { return strings.Compare(a.Class, b.Class) })
		if len(gone) != 2 || gone[0] != (privacy.Gone{Company: w.co.ID, Class: "accounts", Days: 400, Lines: 1, Owner: boss.Person}) || gone[1].Class != "complaints" || gone[1].Lines != 2 {
			t.Errorf("as ordered, %+v goes", gone)
		}
		if words(t, w, job) != jobs.Erased || note() != "the key hangs behind the meter" {
			t.Errorf("the complaint reads %q, the note %q", words(t, w, job), note())
		}
		if u, err := w.Accounts.User(t.Context(), w.co.ID, d.answer.Person); err != nil || u.Name != jobs.Erased {
			t.Errorf("who left a year ago is %+v, %v", u, err)
		}
		from := func(args ...string) result {
			return doIn(t, []string{"TACET_DATA=" + w.folder.Dir, "TACET_DATABASE=" + w.folder.Database}, "", append([]string{"privacy", "times", "--as", "m.reed"}, args...)...)
		}
		said := func(out, what string) bool { return strings.Contains(strings.Join(strings.Fields(out), ""), what) }
		if r := from("--keep", "notes=500", "--itself", "notes", "--by-hand", "accounts", "--json"); r.code != 0 || !said(r.out, `"class":"notes","days":500,"default_days":5475,"by_itself":true`) || !said(r.out, `"class":"accounts","days":400,"default_days":365,"by_itself":false`) {
			t.Errorf("by command: %+v", r)
		}
		from("--itself", "none").want(t, "an unknown class", 2, "")
		w.user(w.co, "another.owner", jobs.Owner)
		if err := w.Accounts.SetRole(t.Context(), w.co.ID, boss.Person, jobs.Site); err != nil {
			t.Fatal(err)
		}
		now = now.AddDate(0, 0, 1)
		if gone := daily(); len(gone) != 1 || gone[0] != (privacy.Gone{Company: w.co.ID, Class: "notes", Days: 500, Owner: boss.Person, Left: true}) || note() == jobs.Erased {
			t.Errorf("once the owner is none any more: %+v", gone)
		}
		if page := string(w.signIn("another.owner").get("/privacy").body); !strings.Contains(page, "nothing goes until another orders it") {
			t.Error("the page does not say so")
		}
	})
}
