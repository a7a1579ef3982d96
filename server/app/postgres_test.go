package app_test

import (
	"database/sql"
	"errors"
	"testing"

	_ "github.com/jackc/pgx/v5/stdlib"

	"tacet/jobs"
	"tacet/server/app"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// Two servers on one database and one data folder are one server to a device: what one took the other gives, a sign-in holds at both,
// and so does a revocation at once.
func TestTwoServersOnOneDatabase(t *testing.T) {
	folder := app.Folder{Dir: t.TempDir(), Database: storetest.PostgresDSN(t)}
	one := newWorld(t, folder)
	two := newWorld(t, folder)
	if one.keys.Server != two.keys.Server {
		t.Fatal("the two are not one server")
	}
	d := one.enrol(one.co, "m.reed", jobs.Site)
	r := d.record()
	job := d.importJob(r)
	d.sync(r)
	d.moveTo(two)
	d.do(r, job, `{"do":"note","text":"sent to the other server"}`)
	if rep := d.sync(r); rep.Sent != 1 || rep.Waiting != 0 {
		t.Errorf("exchange with the other server: %+v", rep)
	}
	// Pages of both record in the one lane of the one device that they are.
	for i, w := range []*world{one, two, one} {
		_, err := w.Replica.Record(t.Context(), one.co.ID, d.author(), job, edges(`{"do":"note","text":"from the pages"}`))
		if err != nil {
			t.Errorf("record %d: %v", i, err)
		}
	}
	if rep := d.sync(r); rep.Received != 3 {
		t.Errorf("the device got %+v", rep)
	}
	if err := one.Accounts.Revoke(t.Context(), d.id); err != nil {
		t.Fatal(err)
	}
	if _, err := r.Sync(t.Context(), d.http); !errors.Is(err, replica.ErrRevoked) {
		t.Errorf("revoked at one server, the other says %v", err)
	}
	if _, err := two.Replica.VerifyLog(t.Context(), one.co.ID); err != nil {
		t.Error(err)
	}
}

// When the database cuts its connections, requests are answered with "later" at worst, and all goes on.
func TestDatabaseCutsConnections(t *testing.T) {
	dsn := storetest.PostgresDSN(t)
	w := newWorld(t, app.Folder{Dir: t.TempDir(), Database: dsn})
	d := w.enrol(w.co, "m.reed", jobs.Site)
	r := d.record()
	job := d.importJob(r)
	d.sync(r)
	admin, err := sql.Open("pgx", dsn)
	if err != nil {
		t.Fatal(err)
	}
	defer admin.Close()
	for range 5 {
		if _, err := admin.ExecContext(t.Context(), "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"); err != nil {
			t.Fatal(err)
		}
		d.do(r, job, `{"do":"note","text":"recorded meanwhile"}`)
		for try := 0; ; try++ {
			_, err := r.Sync(t.Context(), d.http)
			if err == nil {
				break
			}
			if !errors.Is(err, replica.ErrBusy) || try == 20 {
				t.Fatalf("exchange after a cut, try %d: %v\n%s", try, err, w.log)
			}
		}
	}
	theirs, err := w.Replica.Job(t.Context(), w.co.ID, job)
	if err != nil || len(theirs.Of("note")) != 5 {
		t.Errorf("the server has %d notes, %v", len(theirs.Of("note")), err)
	}
}
