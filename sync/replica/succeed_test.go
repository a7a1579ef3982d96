package replica_test

import (
	"errors"
	"os"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// copyOf is the same home on another disk, as a raw copy of the first makes it.
func (d *device) copyOf(t *testing.T) *device {
	t.Helper()
	at := backUp(t, d.store)
	c := &device{world: d.world, id: d.id, key: d.key, me: d.me, store: openStore(t, at), photos: t.TempDir()}
	if err := os.CopyFS(c.photos, os.DirFS(d.photos)); err != nil {
		t.Fatal(err)
	}
	c.dir = photo.NewDir(c.photos)
	c.open(company)
	c.net = &network{d: c}
	return c
}

// succeed makes the device go on under another id.
func (d *device) succeed(t *testing.T, n int) int {
	t.Helper()
	id, key := d.world.id("d", n), d.newKey()
	again, err := d.Succeed(ctx, id, key)
	if err != nil {
		t.Fatal(err)
	}
	d.id, d.key, d.me.Device = id, key, id
	return again
}

// A tablet's disk is copied at noon and both are used in the afternoon. The first to come keeps its lanes; the other finds
// out, goes on as a new device and issues its own work again. All work is in the job once, on every replica.
func TestClonedDevice(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	sup, a := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
	sup.importHouse()
	sup.sync()
	a.sync()
	a.record(note("of the morning"))
	a.sync()
	a.record(note("not sent at noon"))
	b := a.copyOf(t)
	a.record(note("a in the afternoon"), `{"do":"install","surface":"C1","layer":1,"share":1}`)
	fail := b.record(`{"do":"check","surface":"C1","layer":2,"check":"K23","result":"fail","evidence":2,"measured":{"gap_mm":1,"length_m":1}}`)[0]
	b.record(`{"do":"put_right","over":"`+fail.ID+`","cause":"material","hours":1}`, note("b in the afternoon"))
	a.sync()
	_, err := b.Sync(ctx, b.net)
	if !errors.Is(err, replica.ErrLaneForked) && !errors.Is(err, replica.ErrRunForked) {
		t.Fatalf("the copy was not found out: %v", err)
	}
	if again := b.succeed(t, 9); again != 4 {
		t.Errorf("%d issued again", again)
	}
	if rep := b.sync(); rep.Waiting != 0 {
		t.Errorf("%+v", rep)
	}
	sup.sync()
	a.sync()
	b.sync()
	out := sup.settled()
	for _, d := range []*device{sup, a, b} {
		if d.settled() != out || d.settled() != w.settled() {
			t.Errorf("%s holds another job", d.id)
		}
		j, err := d.Job(ctx, company, jobID)
		if shown := export(t, j, err); shown != out {
			t.Errorf("%s shows another job than is settled", d.id)
		}
		for _, words := range []string{"of the morning", "not sent at noon", "a in the afternoon", "b in the afternoon"} {
			if strings.Count(out, words) != 1 {
				t.Errorf("%q stands %d times", words, strings.Count(out, words))
			}
		}
		if err := d.Verify(ctx, company, jobID); err != nil {
			t.Error(err)
		}
	}
	// what was not sent at noon came from both; b's repetition is there and does not count
	if acts, err := w.server.VerifyLog(ctx, company); err != nil || acts != 3+1+1+2+4 {
		t.Errorf("%d acts, %v", acts, err)
	}
	b.record(note("goes on"))
	if rep := b.sync(); rep.Sent != 1 {
		t.Errorf("%+v", rep)
	}
}

// A device is restored from last week's backup after more was sent from it. It takes another id at once; what it had sent
// comes back, what the backup held unsent is issued again and counts once, wherever its original is.
func TestRestoredDevice(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	sup, a := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
	sup.importHouse()
	sup.sync()
	a.sync()
	a.record(note("in the backup, not sent then"))
	backup := a.copyOf(t)
	a.record(note("after the backup"))
	a.sync()
	sup.sync()
	if again := backup.succeed(t, 9); again != 1 {
		t.Fatalf("%d issued again", again)
	}
	again, err := backup.Succeed(ctx, backup.id, backup.key)
	if err != nil || again != 0 {
		t.Errorf("said twice: %d, %v", again, err)
	}
	backup.record(note("recorded after the restore"))
	backup.sync()
	sup.sync()
	out := sup.settled()
	if backup.settled() != out || strings.Count(out, "in the backup, not sent then") != 1 || !strings.Contains(out, "after the backup") || !strings.Contains(out, "recorded after the restore") {
		t.Error(out)
	}
	if _, err := backup.Rebuild(ctx); err != nil {
		t.Error(err)
	}
	d, err := backup.Device(ctx, company, backup.id)
	if err != nil || d.Was != a.id {
		t.Errorf("%+v, %v", d, err)
	}
}

// Another epoch begins where the log ends; who has read no more than is there goes on, and who has read more begins anew.
func TestNewEpoch(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a, b := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
	a.importHouse()
	a.sync()
	b.sync()
	backup := backUp(t, w.store)
	a.record(note("lost with the server"))
	a.sync()
	w.restore(backup)
	if err := w.server.NewEpoch(ctx, company, "restored from a backup"); err != nil {
		t.Fatal(err)
	}
	b.record(note("by b"))
	if rep := b.sync(); rep.Sent != 1 || rep.Received != 0 {
		t.Errorf("b has seen nothing that is lost, and still begins anew: %+v", rep)
	}
	if rep := a.sync(); rep.Waiting != 0 {
		t.Errorf("%+v", rep)
	}
	b.sync()
	if a.settled() != b.settled() || a.settled() != w.settled() || !strings.Contains(a.settled(), "lost with the server") {
		t.Error("the replicas hold different jobs")
	}
}
