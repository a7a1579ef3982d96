package app_test

import (
	"bufio"
	"context"
	"database/sql"
	"errors"
	"net/http"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/app"
	"tacet/server/live"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// newsSoon is how long a test waits for news. They come in milliseconds; the time is for a machine that has other things to do.
const newsSoon = 20 * time.Second

// ear listens on a device as long as the test runs, stream after stream, and keeps each position once.
type ear struct {
	t     *testing.T
	heard chan int64
	ended chan error
}

func (d *tablet) listen() *ear {
	e := &ear{t: d.w.t, heard: make(chan int64, 100), ended: make(chan error, 100)}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	e.t.Cleanup(func() { cancel(); <-done })
	go func() {
		defer close(done)
		last := int64(-1)
		for ctx.Err() == nil {
			err := d.http.News(ctx, func(end int64) {
				if end != last {
					last = end
					e.heard <- end
				}
			})
			if err != nil && ctx.Err() == nil {
				select {
				case e.ended <- err:
				default:
				}
				time.Sleep(20 * time.Millisecond)
			}
		}
	}()
	return e
}

// beyond waits for a position beyond one and returns it.
func (e *ear) beyond(what string, than int64) int64 {
	e.t.Helper()
	deadline := time.After(newsSoon)
	for {
		select {
		case end := <-e.heard:
			if end > than {
				return end
			}
		case <-deadline:
			e.t.Fatalf("%s: nothing beyond %d was heard", what, than)
		}
	}
}

// Who listens hears how far the record goes, at once and each time that a colleague sends something; and nobody of another
// company hears it.
func TestNewsAreHeard(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		site, office := w.enrol(w.co, "m.reed", jobs.Site), w.enrol(w.co, "the.office", jobs.Supervisor)
		foreign := w.enrol(w.company("Another (invented)"), "foreign.one", jobs.Owner)
		other := foreign.listen()
		other.beyond("the position of a company without a record", -1)
		ear := office.listen()
		at := ear.beyond("the first position", -1)
		r := site.record()
		job := site.importJob(r)
		site.sync(r)
		for range 3 {
			at = ear.beyond("after a colleague sent", at)
			site.do(r, job, `{"do":"note","text":"one more (invented)"}`)
			site.sync(r)
		}
		select {
		case end := <-other.heard:
			t.Errorf("another company heard position %d", end)
		default:
		}
	})
}

// What is sent to one server of two is heard at the other, also after the database has cut every line between them, and what came
// while the line was down is heard when it is there again.
func TestNewsAmongServers(t *testing.T) {
	dsn := storetest.PostgresDSN(t)
	folder := app.Folder{Dir: t.TempDir(), Database: dsn}
	one, two := newWorld(t, folder), newWorld(t, folder)
	site, office := one.enrol(one.co, "m.reed", jobs.Site), one.enrol(one.co, "the.office", jobs.Supervisor)
	office.moveTo(two)
	ear := office.listen()
	at := ear.beyond("the first position", -1)
	r := site.record()
	job := site.importJob(r)
	site.sync(r)
	at = ear.beyond("sent to the other server", at)

	admin, err := sql.Open("pgx", dsn)
	if err != nil {
		t.Fatal(err)
	}
	defer admin.Close()
	cut := func() (lines int) {
		t.Helper()
		err := admin.QueryRowContext(t.Context(), `SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity WHERE datname = current_database() AND (query LIKE 'LISTEN%' OR query LIKE '%pg_notify%') AND pid <> pg_backend_pid()`).Scan(&lines)
		if err != nil {
			t.Fatal(err)
		}
		return lines
	}
	for i := range 3 {
		if lines := cut(); i == 0 && lines < 2 {
			t.Errorf("only %d lines were there to cut", lines)
		}
		site.do(r, job, `{"do":"note","text":"sent while the line is down (invented)"}`)
		for try := 0; ; try++ {
			if _, err := r.Sync(t.Context(), site.http); err == nil {
				break
			} else if !errors.Is(err, replica.ErrBusy) || try == 20 {
				t.Fatal(err)
			}
		}
		at = ear.beyond("after the line was cut", at)
	}
}

// Streams end by themselves, so that a device that was cut off hears nothing any more.
func TestNewsEndWithTheDevice(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d := w.enrol(w.co, "m.reed", jobs.Owner)
		ear := d.listen()
		ear.beyond("the first position", -1)
		if err := w.Accounts.Revoke(t.Context(), d.id); err != nil {
			t.Fatal(err)
		}
		select {
		case err := <-ear.ended:
			if !errors.Is(err, replica.ErrRevoked) {
				t.Errorf("cut off, it is told %v", err)
			}
		case <-time.After(newsSoon):
			t.Error("a device that was cut off still listens")
		}
	})
}

// A browser hears with its session, and one that nobody signed in to hears nothing.
func TestNewsForPages(t *testing.T) {
	w := newWorld(t, app.Folder{Dir: t.TempDir()})
	w.user(w.co, "a.supervisor", jobs.Supervisor)
	b := w.signIn("a.supervisor")
	res := w.call(request{method: "GET", path: "/live", header: map[string]string{"Cookie": b.cookie}})
	if res.status != http.StatusOK || res.header.Get("Content-Type") != "text/event-stream" || !strings.HasPrefix(string(res.body), "retry: 1000\nevent: at\ndata: 0\n\n") {
		t.Errorf("%d %s %q", res.status, res.header.Get("Content-Type"), res.body)
	}
	if !strings.Contains(string(res.body), "\n:\n\n") {
		t.Errorf("no sign of life in %q", res.body)
	}
	if policy := res.header.Get("Content-Security-Policy"); !strings.Contains(policy, "connect-src 'self'") {
		t.Errorf("policy %q", policy)
	}
	if res := w.call(request{method: "GET", path: "/live"}); res.status != http.StatusSeeOther {
		t.Errorf("nobody hears: %d", res.status)
	}
}

// One device can't take all lines, and a server that stops lets nobody wait.
func TestNewsLimitsAndStop(t *testing.T) {
	w, err := app.Start(t.Context(), app.Config{Folder: app.Folder{Dir: t.TempDir()}, Listen: "127.0.0.1:0"})
	if err != nil {
		t.Fatal(err)
	}
	world := &world{Running: w, t: t}
	world.co = world.company("Quarrystone Interiors (invented)")
	d := world.enrol(world.co, "m.reed", jobs.Owner)
	ends := make(chan error, live.PerAccount)
	for range live.PerAccount {
		first := make(chan struct{}, 10)
		go func() { ends <- d.http.News(context.Background(), func(int64) { first <- struct{}{} }) }()
		select {
		case <-first:
		case <-time.After(newsSoon):
			t.Fatal("nothing was heard")
		}
	}
	// One too many is heard like the others, and the oldest ends, which is no error.
	more := make(chan struct{}, 10)
	go func() { ends <- d.http.News(context.Background(), func(int64) { more <- struct{}{} }) }()
	for what, came := range map[string]func() bool{
		"one line too many": func() bool {
			select {
			case <-more:
				return true
			case <-time.After(newsSoon):
				return false
			}
		},
		"the end of the oldest": func() bool {
			select {
			case err := <-ends:
				return err == nil
			case <-time.After(newsSoon):
				return false
			}
		},
	} {
		if !came() {
			t.Errorf("%s was not heard", what)
		}
	}
	start := time.Now()
	if err := w.Stop(); err != nil {
		t.Fatal(err)
	}
	for range live.PerAccount {
		if err := <-ends; err != nil {
			t.Errorf("the stream was cut, not ended: %v", err)
		}
	}
	if took := time.Since(start); took > live.Life/2 {
		t.Errorf("stopping waited for the streams: %s", took)
	}
}

// A reader that takes nothing is dropped, and holds nobody up: what it has not read is a few bytes, not a queue.
func TestNewsAreNotQueued(t *testing.T) {
	w := newWorld(t, app.Folder{Dir: t.TempDir()})
	d := w.enrol(w.co, "m.reed", jobs.Site)
	req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, w.URL+"/v1/live", nil)
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Authorization", "Bearer "+d.answer.AccessToken)
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	r := d.record()
	job := d.importJob(r)
	for range 5 {
		d.do(r, job, `{"do":"note","text":"one more (invented)"}`)
		d.sync(r)
	}
	lines := 0
	for s := bufio.NewScanner(res.Body); s.Scan(); {
		if strings.HasPrefix(s.Text(), "data:") {
			lines++
		}
	}
	if lines == 0 || lines > 7 {
		t.Errorf("%d positions in one stream for six commits", lines)
	}
}
