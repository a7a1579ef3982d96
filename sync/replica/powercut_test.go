package replica_test

import (
	"bytes"
	"errors"
	"fmt"
	mrand "math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"

	"tacet/jobs"
	"tacet/sync/store"
	"tacet/sync/storetest"
)

// tape is a run of a home, as its files were: the database at its beginning, the write-ahead log at its end, and how long that was
// when each entry was said to be saved.
type tape struct {
	db, wal []byte
	marks   []mark
	device  *device
}

type mark struct {
	nth   int // which log, where the tape has several
	wal   int64
	saved []jobs.Hash // one batch: all or none
}

// recordTape runs a home that records batches and exchanges, from an empty write-ahead log on.
func recordTape(t *testing.T, steps int) *tape {
	t.Helper()
	path := filepath.Join(t.TempDir(), "home.db")
	p, err := openPair(path)
	if err != nil {
		t.Fatal(err)
	}
	p.device.t = t
	p.device.importHouse()
	p.device.sync()
	if err := p.home.DB().Exec("PRAGMA wal_checkpoint(TRUNCATE)").Error; err != nil {
		t.Fatal(err)
	}
	tp := &tape{db: readFile(t, path), device: p.device}
	for i := range steps {
		m := mark{}
		for _, e := range p.device.record(note(fmt.Sprint("first ", i)), note(fmt.Sprint("second ", i))) {
			m.saved = append(m.saved, e.Hash)
		}
		m.wal = walSize(t, path)
		tp.marks = append(tp.marks, m)
		if i%4 == 3 {
			p.device.sync()
		}
	}
	tp.wal = readFile(t, path+"-wal")
	if !bytes.Equal(readFile(t, path), tp.db) {
		t.Fatal("the database was written to: the tape is no longer one of the log alone")
	}
	if err := p.close(); err != nil {
		t.Fatal(err)
	}
	return tp
}

// torn is the log as a power cut leaves it: what was synced stands, what comes after is missing, empty, or anything.
func (tp *tape) torn(cut int64, draw *mrand.Rand) []byte {
	wal := bytes.Clone(tp.wal[:cut])
	switch draw.IntN(4) {
	case 0:
		return wal
	case 1:
		return append(wal, make([]byte, draw.IntN(20_000))...)
	case 2: // other bytes where pages should be
		for range draw.IntN(20_000) {
			wal = append(wal, byte(draw.Uint32()))
		}
		return wal
	default: // later pages came through, one in between did not
		wal = append(wal, tp.wal[cut:]...)
		for i := cut; i < min(cut+4096, int64(len(wal))); i++ {
			wal[i] ^= 0x5A
		}
		return wal
	}
}

// cutAt opens what a cut of the log alone has left, and checks it.
func (tp *tape) cutAt(dir string, cut int64, draw *mrand.Rand, whole bool) error {
	return tp.opens(dir, tp.db, tp.torn(cut, draw), func(m mark) bool { return m.wal <= cut }, whole)
}

// opens opens what a power cut has left, and checks it. What is sure must be there; of what was not synced yet, whole batches may be.
func (tp *tape) opens(dir string, db, wal []byte, sure func(mark) bool, whole bool) (err error) {
	path := filepath.Join(dir, "cut.db")
	for _, old := range []string{path, path + "-wal", path + "-shm"} {
		if err := os.Remove(old); err != nil && !errors.Is(err, os.ErrNotExist) {
			return err
		}
	}
	if err := os.WriteFile(path, db, 0o600); err != nil {
		return err
	}
	if wal != nil {
		if err := os.WriteFile(path+"-wal", wal, 0o600); err != nil {
			return err
		}
	}
	s, err := store.Open(ctx, path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	side := &storetest.Side{Name: "the home", Store: s, Saved: map[jobs.Hash]bool{}}
	for _, m := range tp.marks {
		for _, h := range m.saved {
			if sure(m) {
				side.Saved[h] = true
			}
		}
	}
	d := *tp.device
	d.Replica = atHome(s, d.dir, d.key)
	if whole {
		side.Replica = d.Replica
		var says string
		if err := s.DB().Raw("PRAGMA integrity_check").Scan(&says).Error; err != nil || says != "ok" {
			return fmt.Errorf("integrity_check: %s (%v)", says, err)
		}
	}
	if err := side.Check(ctx, company); err != nil {
		return err
	}
	rows, gone := side.Rows(), false
	for i, m := range tp.marks {
		here := 0
		for _, h := range m.saved {
			if _, ok := rows.Entries[h]; ok {
				here++
			}
		}
		if here != 0 && here != len(m.saved) || here != 0 && gone {
			return fmt.Errorf("batch %d: %d entries of %d are there", i, here, len(m.saved))
		}
		gone = gone || here == 0
	}
	if whole {
		_, err = d.try(note("after the power cut"))
	}
	return err
}

// inTurns tries n cuts on all cores, each from a seed of its own and in a folder of its own that no disk slows down.
func inTurns(t *testing.T, n int, cut func(dir string, i int, draw *mrand.Rand) error) {
	t.Helper()
	ram := "/dev/shm"
	if _, err := os.Stat(ram); err != nil {
		ram = ""
	}
	var wg sync.WaitGroup
	var next atomic.Int64
	for range runtime.GOMAXPROCS(0) {
		dir, err := os.MkdirTemp(ram, "tacet-cut-")
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { os.RemoveAll(dir) })
		wg.Go(func() {
			for i := next.Add(1); i <= int64(n) && !t.Failed(); i = next.Add(1) {
				if err := cut(dir, int(i), mrand.New(mrand.NewPCG(uint64(i), 1))); err != nil {
					t.Errorf("cut %d: %v", i, err)
				}
			}
		})
	}
	wg.Wait()
}

// The write-ahead log of a home is cut at any byte, and what lies behind the cut is missing, empty or anything, as a power cut
// leaves it: the home opens, all that was said to be saved before the cut is there, of the rest whole batches in their order,
// and it records on. TACET_CUTS gives the number.
func TestPowerCut(t *testing.T) {
	t.Parallel()
	tp := recordTape(t, 24)
	cuts := number(t, "TACET_CUTS", 2000)
	inTurns(t, cuts, func(dir string, i int, draw *mrand.Rand) error {
		cut := draw.Int64N(int64(len(tp.wal)) + 1)
		if err := tp.cutAt(dir, cut, draw, i%20 == 0); err != nil {
			return fmt.Errorf("at byte %d of %d: %w", cut, len(tp.wal), err)
		}
		return nil
	})
	t.Logf("evidence: %d cuts of a log of %d bytes with %d batches: nothing lost that was said to be saved", cuts, len(tp.wal), len(tp.marks))
}

func walSize(t *testing.T, path string) int64 {
	t.Helper()
	return int64(len(readFile(t, path+"-wal")))
}
