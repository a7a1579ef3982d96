package replica_test

import (
	"bytes"
	"os"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/storetest"
)

const lodger = "Mrs Lindqvist hears every step and cannot sleep"

// heard is what a replica shows of the one complaint.
func heard(t *testing.T, j *jobs.Job, err error) string {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	c := j.Complaints()
	if len(c) != 1 {
		t.Fatalf("%d complaints", len(c))
	}
	return c[0].Complaint.Words
}

// What somebody said reaches every device; once the office erases it, it is gone from the server and from each device at its
// next contact, held folds included, and from their files. A device that was away, and the entry itself coming back after the
// server was put back to an old copy, do not bring it back. The chain stays whole all the while.
func TestErasureReachesEveryReplica(t *testing.T) {
	onEach(t, func(t *testing.T, w *world) {
		office, site, away := w.join(1, jobs.Office), w.join(2, jobs.Site), w.join(3, jobs.Site)
		office.importHouse()
		e := office.record(`{"do":"complaint","words":"` + lodger + `","kind":"footsteps","received":"phone"}`)[0]
		key := e.Key
		for _, d := range []*device{office, site, away} {
			d.sync()
			j, err := d.Job(ctx, company, jobID)
			if got := heard(t, j, err); got != lodger {
				t.Errorf("device %s reads %q", d.id, got)
			}
		}
		if _, err := site.try(`{"do":"erasure","of":["` + e.ID + `"],"reason":"asked"}`); err == nil {
			t.Error("site may erase")
		}
		office.record(`{"do":"erasure","of":["` + e.ID + `"],"reason":"asked"}`)
		for _, d := range []*device{office, site} {
			d.sync()
			j, err := d.Job(ctx, company, jobID)
			if got := heard(t, j, err); got != jobs.Erased {
				t.Errorf("device %s reads %q after its contact", d.id, got)
			}
			nowhere(t, d, key)
		}
		j, err := w.server.Job(ctx, company, jobID)
		if got := heard(t, j, err); got != jobs.Erased {
			t.Errorf("the server reads %q", got)
		}
		j, err = away.Job(ctx, company, jobID)
		if got := heard(t, j, err); got != lodger {
			t.Errorf("a device without contact reads %q", got)
		}
		away.record(`{"do":"note","text":"from a cellar"}`)
		away.sync()
		j, err = away.Job(ctx, company, jobID)
		if got := heard(t, j, err); got != jobs.Erased {
			t.Errorf("the device that was away reads %q", got)
		}
		nowhere(t, away, key)
		office.sync()
		site.sync()
		for _, d := range []*device{office, site, away} {
			if d.settled() != w.settled() {
				t.Errorf("device %s holds another job than the server", d.id)
			}
			if _, err := d.Prove(ctx, company, jobID); err != nil {
				t.Errorf("the chain of %s: %v", d.id, err)
			}
		}
		if _, err := w.server.VerifyLog(ctx, company); err != nil {
			t.Error(err)
		}
		if _, err := w.server.Prove(ctx, company, jobID); err != nil {
			t.Error(err)
		}
		if err := w.store.Read(ctx, company, func(tx replica.Tx) error {
			s, err := tx.Entry(e.Hash)
			if err == nil && (s.Key != nil || !bytes.Equal(s.Data, e.Data)) {
				t.Error("the server has the key, or other bytes than were written")
			}
			return err
		}); err != nil {
			t.Error(err)
		}
	})
}

// A server that lost what came after an old copy of it gets the complaint back from the devices, and not its words: the devices
// threw the key away, and what says so comes back too.
func TestErasureSurvivesAnOldServer(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	office, site := w.join(1, jobs.Office), w.join(2, jobs.Site)
	office.importHouse()
	office.sync()
	e := office.record(`{"do":"complaint","words":"` + lodger + `","kind":"footsteps","received":"phone"}`)[0]
	office.sync()
	site.sync()
	office.record(`{"do":"erasure","of":["` + e.ID + `"],"reason":"time"}`)
	office.sync()
	site.sync()
	w.server = replica.New(replica.Config{Store: storetest.SQLite(t), Blobs: office.dir, Device: w.id("e", 1), Key: w.key, Now: w.at, Rand: w.rand})
	for range 4 {
		office.sync()
		site.sync()
	}
	j, err := w.server.Job(ctx, company, jobID)
	if got := heard(t, j, err); got != jobs.Erased {
		t.Errorf("the server that was begun anew reads %q", got)
	}
}

// nowhere looks for a key, and for the words, in the files of a device.
func nowhere(t *testing.T, d *device, key []byte) {
	t.Helper()
	db := d.store.(*store.Store).DB()
	if err := db.Exec("PRAGMA wal_checkpoint(TRUNCATE)").Error; err != nil {
		t.Fatal(err)
	}
	var file string
	if err := db.Raw("SELECT file FROM pragma_database_list WHERE name = 'main'").Scan(&file).Error; err != nil {
		t.Fatal(err)
	}
	for _, f := range []string{file, file + "-wal"} {
		data, err := os.ReadFile(f)
		if err != nil || len(data) == 0 && f == file {
			t.Fatalf("%s: %d bytes, %v", f, len(data), err)
		}
		if bytes.Contains(data, key) || bytes.Contains(data, []byte("Lindqvist")) {
			t.Errorf("%s still holds the key or the words", f)
		}
	}
}
