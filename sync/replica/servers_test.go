package replica_test

import (
	"context"
	"errors"
	"math/rand/v2"
	"sync"
	"testing"

	"tacet/jobs"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/storetest"
)

// another gives a second server process on the same database.
func (w *world) another(s replica.Store, seed byte) *world {
	o := &world{t: w.t, now: w.now, rand: rand.NewChaCha8([32]byte{seed}), store: s, key: w.key}
	o.server = replica.New(replica.Config{Store: s, Blobs: photo.NewDir(w.t.TempDir()), Device: w.id("e", 1), Key: w.key, Now: o.at, Rand: o.rand})
	return o
}

func openStore(t testing.TB, dsn string) *store.Store {
	t.Helper()
	s, err := store.Open(ctx, dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// Two servers on one database, devices on both at once, the office recording at both: positions have no gap, a reader
// meets no hole, and all hold the same job.
func TestTwoServers(t *testing.T) {
	dsn := storetest.PostgresDSN(t)
	w := newWorld(t, openStore(t, dsn))
	first := w.join(1, jobs.Supervisor)
	first.importHouse()
	first.sync()
	var devices []*device
	for i := range 4 {
		o := w.another(openStore(t, dsn), byte(10+i)) // its own clock and randomness, half of them at each server
		if i%2 == 0 {
			o.server = w.another(w.store, byte(20+i)).server
		}
		d := o.join(2+i, jobs.Site)
		d.key = o.newKey()
		d.open(company)
		d.sync()
		devices = append(devices, d)
	}
	const rounds = 8
	var wg sync.WaitGroup
	for i, d := range devices {
		wg.Go(func() {
			for range rounds {
				if _, err := d.try(note("one"), note("two")); err != nil {
					t.Error(err)
					return
				}
				if _, err := d.Sync(ctx, d.net); err != nil {
					t.Errorf("device %d: %v", i, err)
					return
				}
				if _, err := d.server.Record(ctx, company, first.author(), jobID, raws(note("office"))); err != nil {
					t.Errorf("office at the server of %d: %v", i, err)
					return
				}
			}
		})
	}
	wg.Wait()
	want := int64(3 + len(devices)*rounds*3)
	if acts, err := w.server.VerifyLog(ctx, company); err != nil || acts != want {
		t.Errorf("%d acts of %d, %v", acts, want, err)
	}
	first.sync()
	for _, d := range devices {
		d.sync()
		if d.settled() != first.settled() {
			t.Error("the devices hold different jobs")
		}
		j, err := d.server.Job(ctx, company, jobID)
		if export(t, j, err) != first.settled() {
			t.Error("a server shows another job")
		}
	}
	if err := first.Verify(ctx, company, jobID); err != nil {
		t.Error(err)
	}
}

// A server that stands still while it holds a company keeps nobody waiting for long: the others say "busy" after three
// seconds, and nothing is lost.
func TestFrozenServer(t *testing.T) {
	dsn := storetest.PostgresDSN(t)
	w := newWorld(t, openStore(t, dsn))
	a := w.join(1, jobs.Supervisor)
	a.importHouse()
	a.sync()
	frozen, release := make(chan bool), make(chan bool)
	var wg sync.WaitGroup
	wg.Go(func() {
		err := openStore(t, dsn).Write(context.Background(), company, func(replica.Tx) error {
			close(frozen)
			<-release
			return nil
		})
		if err != nil {
			t.Error(err)
		}
	})
	<-frozen
	a.record(note("meanwhile"))
	rep, err := a.Sync(ctx, a.net)
	if !errors.Is(err, replica.ErrBusy) || rep.Waiting != 1 {
		t.Errorf("%+v, %v", rep, err)
	}
	close(release)
	wg.Wait()
	if rep := a.sync(); rep.Sent != 1 {
		t.Errorf("%+v", rep)
	}
}
