package replica_test

import (
	"database/sql"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/sync/store"
	"tacet/sync/storetest"
)

// A durable save against its floors, one write of 4 KiB with its sync, and one row in a transaction of a bare SQLite file, taken in turns
// on the same disk.
func BenchmarkRecord(b *testing.B) {
	w := newWorld(b, storetest.SQLite(b))
	d := w.join(1, jobs.Supervisor)
	d.importHouse()
	f, err := os.Create(filepath.Join(b.TempDir(), "floor"))
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	page := make([]byte, 4096)
	bare := bareFile(b)
	row := make([]byte, 1000) // about what an entry takes
	var floor, commit, ours time.Duration
	for b.Loop() {
		start := time.Now()
		if _, err := f.Write(page); err != nil {
			b.Fatal(err)
		}
		if err := syscall.Fdatasync(int(f.Fd())); err != nil {
			b.Fatal(err)
		}
		floor += time.Since(start)
		start = time.Now()
		if _, err := bare.Exec("INSERT INTO rows (bytes) VALUES (?)", row); err != nil {
			b.Fatal(err)
		}
		commit += time.Since(start)
		start = time.Now()
		d.record(note("one line"))
		ours += time.Since(start)
	}
	b.ReportMetric(float64(ours)/float64(floor), "x-floor")
	b.ReportMetric(float64(ours)/float64(commit), "x-bare-commit")
}

func bareFile(b *testing.B) *sql.DB {
	b.Helper()
	db, err := sql.Open("sqlite", store.DSN(filepath.Join(b.TempDir(), "bare.db")))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { db.Close() })
	db.SetMaxOpenConns(1)
	if _, err := db.Exec("CREATE TABLE rows (n INTEGER PRIMARY KEY, bytes BLOB NOT NULL)"); err != nil {
		b.Fatal(err)
	}
	return db
}

// A push and a pull of 500 entries, per entry, against one durable save.
func BenchmarkExchange(b *testing.B) {
	w := newWorld(b, storetest.SQLite(b))
	a, other := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
	a.importHouse()
	a.sync()
	other.sync()
	var save, push, pull time.Duration
	edges := make([]string, 500)
	for i := range edges {
		edges[i] = note("one line")
	}
	for b.Loop() {
		start := time.Now()
		a.record(note("one line"))
		save += time.Since(start)
		a.record(edges[1:]...)
		start = time.Now()
		if _, err := a.Push(ctx, a.net); err != nil {
			b.Fatal(err)
		}
		push += time.Since(start)
		start = time.Now()
		if _, err := other.Pull(ctx, other.net); err != nil {
			b.Fatal(err)
		}
		pull += time.Since(start)
	}
	b.ReportMetric(float64(push)/float64(save), "push-of-500/save")
	b.ReportMetric(float64(pull)/float64(save), "pull-of-500/save")
}
