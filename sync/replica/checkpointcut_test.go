package replica_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	mrand "math/rand/v2"
	"path/filepath"
	"testing"

	"tacet/sync/replica"
	"tacet/sync/store"
)

// What a power cut during a checkpoint can leave. The driver has no layer of files that a test could put itself into, and copying two
// files of a running program gives pairs that never were on a disk at once. So the files are read between the steps, and the pairs that
// can be are put together from them, by the order in which SQLite writes and syncs:
//
//  1. A commit appends frames to the log and syncs it. The database is not touched.
//  2. A checkpoint copies pages from the synced log into the database, in any order as far as the disk is concerned, and syncs it. The
//     log is not touched, but by others, who go on committing behind what is copied.
//  3. Only then does the next commit begin the log anew, over the old one: a new header, synced, and frames behind it, so that of the
//     old log what is not overwritten yet stays. Or the log is cut to nothing, in one step.
//
// So in step 2 each sector of the pages that are copied is old or new, and one, which was being written, is anything; the file has any
// length between; and the log has at least what is copied. In steps 1 and 3 the database is whole, and of the log any beginning is there.
// The tape makes sure that this is what happens: the log is the same before and after a checkpoint, and a page of the database changes
// only into what the log has of it, or comes to be as an empty one before another that is copied, where the log has a later one.

// round is a stretch of the tape, which ends with a checkpoint.
type round struct {
	before, after []byte // the database, before and after the checkpoint
	under, log    []byte // what the log's file held when this log was begun, and at the end of the round
	from          int64  // what was in this log when the last checkpoint began
	copied        int64  // what this checkpoint copies
	least         int64  // what is in the log when it begins
	end           int64  // of the log's frames; behind least is what others committed while it ran
	nth           int    // which log it is
	emptied       bool   // the log was cut to nothing after it
}

const (
	walHeader   = 32
	frameHeader = 24
	pageBytes   = 4096
	sector      = 512
)

// logEnd is where the frames of the present log end: behind it lie those of the one before, by their salt.
func logEnd(log []byte) int64 {
	if len(log) < walHeader {
		return 0
	}
	at := walHeader
	for at+frameHeader+pageBytes <= len(log) && bytes.Equal(log[at+8:at+16], log[16:24]) {
		at += frameHeader + pageBytes
	}
	return int64(at)
}

// pages are the pages of a log, up to a place, as they were written last.
func pages(log []byte, upto int64) map[int][]byte {
	last := map[int][]byte{}
	for at := walHeader; at < int(upto); at += frameHeader + pageBytes {
		last[int(binary.BigEndian.Uint32(log[at:]))-1] = log[at+frameHeader:][:pageBytes]
	}
	return last
}

// page is a page of a database; empty behind its end.
func page(db []byte, i int) []byte {
	if (i+1)*pageBytes > len(db) {
		return nil
	}
	return db[i*pageBytes:][:pageBytes]
}

// rightly tells whether the checkpoint did what this test supposes of it.
func (r round) rightly() error {
	copied, log := pages(r.log, r.copied), pages(r.log, r.least)
	for i := range max(len(r.before), len(r.after)) / pageBytes {
		was, is := page(r.before, i), page(r.after, i)
		if was == nil && bytes.Equal(is, make([]byte, pageBytes)) && log[i] != nil {
			continue
		}
		if !bytes.Equal(was, is) && !bytes.Equal(is, copied[i]) {
			return fmt.Errorf("page %d became what the log does not have", i)
		}
	}
	if bytes.Equal(r.before, r.after) {
		return errors.New("the checkpoint has copied nothing")
	}
	return nil
}

// all of the log is copied.
const all = math.MaxInt64

type rounds struct {
	tape
	of []round

	t     *testing.T
	path  string
	home  *store.Store
	nth   int // the log that is being written
	under []byte
}

// checkpoint ends a round. The log stays as it is, but where the checkpoint empties it.
func (rs *rounds) checkpoint(mode string, from, copied int64) {
	rs.t.Helper()
	r := round{before: readFile(rs.t, rs.path), log: readFile(rs.t, rs.path+"-wal"), under: rs.under, nth: rs.nth, from: from, emptied: mode == "TRUNCATE"}
	r.end = logEnd(r.log)
	r.least, r.copied = r.end, min(r.end, copied)
	if err := rs.home.DB().Exec("PRAGMA wal_checkpoint(" + mode + ")").Error; err != nil {
		rs.t.Fatal(err)
	}
	r.after = readFile(rs.t, rs.path)
	if log := readFile(rs.t, rs.path+"-wal"); !r.emptied && !bytes.Equal(log, r.log) || r.emptied && len(log) > 0 {
		rs.t.Fatal("the checkpoint has written to the log")
	}
	if err := r.rightly(); err != nil {
		rs.t.Fatalf("checkpoint %d: %v", len(rs.of), err)
	}
	rs.of = append(rs.of, r)
}

// begun is called when a checkpoint has copied all: the next log will be written over what is there now.
func (rs *rounds) begun() { rs.under, rs.nth = readFile(rs.t, rs.path+"-wal"), rs.nth+1 }

func (rs *rounds) batches(n int) {
	rs.t.Helper()
	for i := range n {
		m := mark{nth: rs.nth}
		for _, e := range rs.device.record(note(fmt.Sprint("first ", i)), note(fmt.Sprint("second ", i))) {
			m.saved = append(m.saved, e.Hash)
		}
		m.wal = logEnd(readFile(rs.t, rs.path+"-wal"))
		rs.marks = append(rs.marks, m)
	}
}

// besideReader makes a checkpoint while somebody reads the state of now, some batches before the checkpoint, and others commit while it
// runs. It copies what the reader sees, and nobody may begin the log anew. It returns what was in the log when it began.
func (rs *rounds) besideReader(before int) (least int64) {
	rs.t.Helper()
	sees := logEnd(readFile(rs.t, rs.path+"-wal"))
	err := rs.home.Read(ctx, company, func(tx replica.Tx) error {
		if _, err := tx.Me(); err != nil { // from here on this is what it sees
			return err
		}
		rs.batches(before)
		rs.checkpoint("PASSIVE", 0, sees)
		rs.batches(2)
		return nil
	})
	if err != nil {
		rs.t.Fatal(err)
	}
	r := &rs.of[len(rs.of)-1]
	r.log = readFile(rs.t, rs.path+"-wal")
	r.end = logEnd(r.log)
	return r.least
}

// recordRounds runs a home that records and exchanges, with checkpoints of each kind: such as copies all, after which the log is begun
// anew over the old one; such as empties the log; and such as can copy a part only, because somebody reads an older state meanwhile.
func recordRounds(t *testing.T, n int) *rounds {
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
	rs := &rounds{tape: tape{device: p.device}, t: t, path: path, home: p.home, under: []byte{}}
	for i := range n {
		rs.batches(3 + i%3)
		from := int64(0)
		if i%3 > 0 {
			from = rs.besideReader(2 * (i % 3 / 2))
			rs.batches(1)
		}
		p.device.sync()
		rs.checkpoint([]string{"PASSIVE", "PASSIVE", "PASSIVE", "TRUNCATE"}[i%4], from, all)
		rs.begun()
	}
	if err := p.close(); err != nil {
		t.Fatal(err)
	}
	return rs
}

// logAt is the log's file with a beginning of this log on the disk, and over what was there before: behind the cut each sector is as
// before, or new, since it was not synced.
func (r round) logAt(cut int64, draw *mrand.Rand) []byte {
	log := bytes.Clone(r.log)
	for at := int(cut); at < len(log); {
		next := min(len(log), (at/sector+1)*sector)
		if at < walHeader || draw.IntN(3) > 0 { // nothing is written behind a header before it is synced
			clear(log[at:next])
			if at < len(r.under) {
				copy(log[at:next], r.under[at:])
			}
		}
		at = next
	}
	if cut >= int64(len(r.under)) && draw.IntN(2) == 0 {
		return log[:cut] // and the file had not grown
	}
	return log
}

// torn is the database in the middle of the checkpoint.
func (r round) torn(draw *mrand.Rand) []byte {
	db := bytes.Clone(r.after)
	share := draw.IntN(101) // per cent of the sectors that have come through
	var mixed []int
	for at := 0; at < len(db); at += sector {
		if at < len(r.before) && bytes.Equal(db[at:at+sector], r.before[at:at+sector]) {
			continue
		}
		mixed = append(mixed, at)
		if draw.IntN(100) >= share {
			clear(db[at : at+sector])
			if at < len(r.before) {
				copy(db[at:at+sector], r.before[at:])
			}
		}
	}
	if at := mixed[draw.IntN(len(mixed))]; at > 0 && draw.IntN(2) == 0 { // the sector that was being written; the first one names the size of pages
		for i := range sector {
			db[at+i] = byte(draw.Uint32())
		}
	}
	if grown := len(r.after) - len(r.before); grown > 0 && draw.IntN(2) == 0 {
		db = db[:len(r.before)+draw.IntN(grown)]
	}
	return db
}

// cut draws a moment and what a power cut in it has left.
func (rs *rounds) cut(dir string, i int, draw *mrand.Rand) error {
	n := draw.IntN(len(rs.of))
	r := rs.of[n]
	var cut int64
	var db, log []byte
	var when string
	switch kind := i % 4; {
	case kind == 0: // between two checkpoints
		when, db, cut = "while writing", r.before, r.from+draw.Int64N(r.end-r.from+1)
		log = r.logAt(cut, draw)
	case kind == 1 && r.emptied:
		when, db, cut, log = "when the log was emptied", r.after, r.end, [][]byte{nil, {}, r.log}[draw.IntN(3)]
	default:
		when, db, cut = "in a checkpoint", r.torn(draw), r.least+draw.Int64N(r.end-r.least+1)
		log = r.logAt(cut, draw)
	}
	sure := func(m mark) bool { return m.nth < r.nth || m.nth == r.nth && m.wal <= cut }
	if err := rs.opens(dir, db, log, sure, true); err != nil {
		return fmt.Errorf("round %d, %s, %d bytes of %d of the log: %w", n, when, cut, r.end, err)
	}
	return nil
}

// The power goes at any moment before, in and after checkpoints, while others write: the home opens, its database is sound, all that was
// said to be saved is there, of the rest whole batches in their order, and it records on. TACET_CHECKPOINT_CUTS gives the number.
func TestPowerCutInCheckpoint(t *testing.T) {
	t.Parallel()
	rs := recordRounds(t, 9)
	cuts := number(t, "TACET_CHECKPOINT_CUTS", 250)
	inTurns(t, cuts, rs.cut)
	t.Logf("evidence: %d cuts in and around %d checkpoints with %d batches: all sound, nothing lost that was said to be saved", cuts, len(rs.of), len(rs.marks))
}

// Were the log not on the disk before its pages are copied, the check would see it.
func TestCutThatCannotBeIsSeen(t *testing.T) {
	rs := recordRounds(t, 3)
	dir := t.TempDir()
	for i := range 50 {
		draw := mrand.New(mrand.NewPCG(uint64(i), 2))
		n := draw.IntN(len(rs.of))
		if err := rs.opens(dir, rs.of[n].torn(draw), nil, func(m mark) bool { return m.nth < rs.of[n].nth }, true); err != nil {
			t.Logf("seen at the try %d: %v", i+1, err)
			return
		}
	}
	t.Error("a half copied database without its log passed for a sound one, 50 times")
}
