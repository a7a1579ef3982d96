package replica_test

import (
	"errors"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"tacet/jobs"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/storetest"
)

// On a full disk a save is refused in plain words, what was saved stays and can be read, and all goes on once there is
// room.
func TestDiskFull(t *testing.T) {
	disk := t.TempDir()
	if err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=4m"); err != nil {
		t.Skipf("a small disk can't be mounted here: %v", err)
	}
	defer func() {
		if err := syscall.Unmount(disk, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	}()
	w := newWorld(t, storetest.SQLite(t))
	s, err := store.Open(ctx, filepath.Join(disk, "home.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	d := &device{world: w, id: w.id("d", 1), key: w.key, store: s, dir: photo.NewDir(filepath.Join(disk, "photos"))}
	d.me = replica.Me{Company: company, Device: d.id, Person: w.id("b", 1), Role: jobs.Supervisor}
	if err := replica.Settle(ctx, s, d.me); err != nil {
		t.Fatal(err)
	}
	d.open(company)
	d.importHouse()
	ballast := filepath.Join(disk, "ballast")
	fill(t, ballast)
	saved := 3
	var full error
	for range 2000 {
		es, err := d.try(note("one more line"))
		if full = err; err != nil {
			break
		}
		saved += len(es)
	}
	if !errors.Is(full, replica.ErrNoSpace) {
		t.Fatalf("a full disk says %v after %d entries", full, saved)
	}
	if _, err := d.dir.Put(ctx, company, make([]byte, 1<<20)); !errors.Is(err, replica.ErrNoSpace) {
		t.Errorf("a photo on a full disk: %v", err)
	}
	if p, err := d.Prove(ctx, company, jobID); err != nil || p.Entries != saved {
		t.Errorf("%+v of %d, %v", p, saved, err)
	}
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	d.record(note("there is room again"))
	if p, err := d.Prove(ctx, company, jobID); err != nil || p.Entries != saved+1 {
		t.Errorf("%+v of %d, %v", p, saved+1, err)
	}
	parts, err := filepath.Glob(filepath.Join(disk, "photos", "*", "*", ".part-*"))
	if err != nil || len(parts) != 0 {
		t.Errorf("half a photo is left: %v, %v", parts, err)
	}
}

// fill writes until the disk is full.
func fill(t *testing.T, path string) {
	t.Helper()
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for _, block := range [][]byte{make([]byte, 64<<10), make([]byte, 512)} {
		for range 1000 {
			if _, err := f.Write(block); errors.Is(err, syscall.ENOSPC) {
				break
			} else if err != nil {
				t.Fatal(err)
			}
		}
	}
}
