package app_test

import (
	"log/slog"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/app"
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
		if err := w.Accounts.Keep(t.Context(), others.ID, map[string]int{"looks": 3 * 365}); err != nil {
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
