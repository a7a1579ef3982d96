package replica_test

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/sync/storetest"
)

// A durable save against its floor, one write of 4 KiB with its sync, taken in turns on the same disk.
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
	var floor, ours time.Duration
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
		d.record(note("one line"))
		ours += time.Since(start)
	}
	b.ReportMetric(float64(ours)/float64(floor), "x-floor")
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
