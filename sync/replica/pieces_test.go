package replica_test

import (
	"bytes"
	"encoding/hex"
	"errors"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"tacet/jobs"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// bigPicture is 900 KiB that nothing packs.
func bigPicture(w *world) []byte {
	data := make([]byte, 900<<10)
	if _, err := io.ReadFull(w.rand, data); err != nil {
		w.t.Fatal(err)
	}
	return data
}

// takes keeps a picture on the device and records it.
func (d *device) takes(data []byte) jobs.Hash {
	d.t.Helper()
	h, err := d.dir.Put(ctx, company, data)
	if err != nil {
		d.t.Fatal(err)
	}
	d.record(`{"do":"photo","surface":"C1","file":"` + h.String() + `"}`)
	return h
}

var errCutNow = &replica.Refusal{Err: replica.ErrCut}

// After a cut, only the rest of a photo is sent, and only the rest is fetched. Every answer that was lost costs one piece at
// most, on which nothing is ever lost.
func TestPhotoGoesOnAfterCuts(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a, b := w.join(1, jobs.Site), w.join(2, jobs.Site)
	a.importHouse()
	a.sync()
	data := bigPicture(w)
	h := a.takes(data)
	for _, d := range []*device{a, b} {
		pieces, largest, cuts := 0, 0, 0
		d.net.afterPiece = func(piece []byte) error {
			largest = max(largest, len(piece))
			if pieces++; len(piece) > 0 && pieces%3 == 0 && cuts < 4 {
				cuts++
				return errCutNow
			}
			return nil
		}
		for {
			_, err := d.Sync(ctx, d.net)
			if err == nil {
				break
			}
			if !errors.Is(err, replica.ErrUnreachable) {
				t.Fatal(err)
			}
			d.open(company) // the program starts anew
		}
		d.net.afterPiece = nil
		if cuts != 4 {
			t.Fatalf("only %d cuts", cuts)
		}
		again := d.net.photoBytes - len(data)
		t.Logf("device %s: %d bytes of %d moved twice after %d cuts, largest piece %d", d.id, again, len(data), cuts, largest)
		if again < 0 || again > cuts*largest || d == a && again > 0 {
			t.Errorf("%d bytes were moved twice", again)
		}
		if largest > replica.MaxPiece {
			t.Errorf("a piece of %d bytes", largest)
		}
		if got, err := d.Photo(ctx, company, jobID, h); err != nil || !bytes.Equal(got, data) {
			t.Errorf("%d bytes, %v", len(got), err)
		}
		if have, err := d.dir.Part(ctx, company, h); err != nil || have != 0 {
			t.Errorf("%d bytes of what is whole are still on their way: %v", have, err)
		}
	}
	if got, err := w.server.Photo(ctx, company, jobID, h); err != nil || !bytes.Equal(got, data) {
		t.Errorf("%d bytes, %v", len(got), err)
	}
}

// An entry that is recorded while a photo is on its way goes before the next piece of the photo.
func TestEntriesGoBeforePhotos(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a := w.join(1, jobs.Site)
	a.importHouse()
	a.sync()
	a.takes(bigPicture(w))
	pieces, recorded, early := 0, "", 0
	a.net.afterPiece = func([]byte) error {
		pieces++
		if recorded != "" {
			states, err := w.server.States(ctx, company, jobID)
			if err != nil {
				return err
			}
			if states[recorded] == replica.Standing {
				early++
			} else {
				t.Errorf("piece %d went before entry %s", pieces, recorded)
			}
		}
		if pieces%2 == 0 {
			recorded = a.record(note("while a photo is sent"))[0].ID
		}
		return nil
	}
	if rep := a.sync(); rep.Photos != 0 || rep.Waiting != 0 {
		t.Errorf("%+v", rep)
	}
	if early < 3 {
		t.Errorf("only %d pieces were watched", early)
	}
}

// What does not have the hash in the end, or is no picture, is forgotten and begins anew; nothing that names it is there before it
// is whole.
func TestPhotoSpoiltOnItsWay(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a := w.join(1, jobs.Site)
	a.importHouse()
	h := a.takes([]byte("a picture"))
	if _, err := a.Push(ctx, a.net); err != nil {
		t.Fatal(err)
	}
	take := func(at, size int64, piece string, check func([]byte) error) (replica.PhotoPart, error) {
		return w.server.TakePiece(ctx, company, jobID, h, at, size, []byte(piece), check)
	}
	if p, err := take(0, 9, "a pic", nil); err != nil || p.Have != 5 || p.Whole {
		t.Fatal(p, err)
	}
	if p, err := take(7, 9, "re", nil); err != nil || p.Have != 5 {
		t.Errorf("a piece behind a gap: %+v, %v", p, err)
	}
	if _, err := take(5, 9, "TURE", nil); !errors.Is(err, replica.ErrBadHash) {
		t.Errorf("another whole: %v", err)
	}
	if p, err := take(0, 9, "", nil); err != nil || p.Have != 0 {
		t.Errorf("%+v, %v", p, err)
	}
	no := errors.New("no picture")
	if _, err := take(0, 9, "a picture", func([]byte) error { return no }); !errors.Is(err, no) {
		t.Errorf("%v", err)
	}
	if _, err := w.server.Photo(ctx, company, jobID, h); !errors.Is(err, jobs.ErrNotFound) {
		t.Errorf("half a photo is given out: %v", err)
	}
	if _, err := take(0, replica.MaxPhoto+1, "", nil); !errors.Is(err, replica.ErrTooLarge) {
		t.Errorf("13 MiB: %v", err)
	}
	if _, err := w.server.TakePiece(ctx, company, jobID, jobs.HashBlob([]byte("x")), 0, 1, []byte("x"), nil); !errors.Is(err, jobs.ErrNotFound) {
		t.Errorf("what nobody names: %v", err)
	}
	if p, err := take(0, 9, "a picture", nil); err != nil || !p.Whole {
		t.Errorf("%+v, %v", p, err)
	}
}

// At its quota, a company's photos wait on their devices and its records pass.
func TestPhotoQuota(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	w.server = replica.New(replica.Config{Store: w.store, Blobs: photo.NewDir(t.TempDir()), Device: w.id("e", 1), Key: w.key, Now: w.at, Rand: w.rand, Quota: 20})
	a := w.join(1, jobs.Site)
	a.importHouse()
	a.takes([]byte("nineteen bytes long"))
	if rep := a.sync(); rep.Photos != 0 || rep.PhotoQuota != 95 {
		t.Errorf("%+v", rep)
	}
	a.takes([]byte("2 bytes"))
	note := a.record(note("all the same"))[0]
	rep, err := a.Sync(ctx, a.net)
	if !errors.Is(err, replica.ErrQuota) || rep.Photos != 1 || rep.Waiting != 0 {
		t.Errorf("%+v, %v", rep, err)
	}
	if states, err := w.server.States(ctx, company, jobID); err != nil || states[note.ID] != replica.Standing {
		t.Errorf("%v, %v", states, err)
	}
	if used, err := w.server.PhotoRoom(ctx, company); err != nil || used != 19 {
		t.Error(used, err)
	}
}

// What was begun and never went on is forgotten after a while, what goes on is not.
func TestTidyParts(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	root := t.TempDir()
	d := photo.NewDir(root)
	old, young := jobs.HashBlob([]byte("old")), jobs.HashBlob([]byte("young"))
	for _, h := range []jobs.Hash{old, young} {
		if err := d.AddPart(ctx, company, h, 0, []byte("be")); err != nil {
			t.Fatal(err)
		}
	}
	names, err := filepath.Glob(filepath.Join(root, company, "arriving", ".*"))
	if err != nil || len(names) != 2 {
		t.Fatal(names, err)
	}
	long := w.now.AddDate(0, -2, 0)
	for _, name := range names {
		if data, err := os.ReadFile(name); err != nil || string(data) != "be" {
			t.Error(string(data), err)
		}
	}
	p := filepath.Join(root, company, "arriving", "."+hexOf(old))
	if err := os.Chtimes(p, long, long); err != nil {
		t.Fatal(err)
	}
	if err := os.Chtimes(filepath.Join(root, company, "arriving", "."+hexOf(young)), w.now, w.now); err != nil {
		t.Fatal(err)
	}
	if err := d.Tidy(w.now); err != nil {
		t.Fatal(err)
	}
	if n, err := d.Part(ctx, company, old); n != 0 || err != nil {
		t.Error(n, err)
	}
	if n, err := d.Part(ctx, company, young); n != 2 || err != nil {
		t.Error(n, err)
	}
}

func hexOf(h jobs.Hash) string { return hex.EncodeToString(h[:]) }

// lineOf lets a device's pieces through until a cut after so many bytes, a quarter more or less, again and again, and says how many
// bytes of pieces were given to the line in vain.
func (d *device) lineOf(between int) (vain int) {
	d.t.Helper()
	draw := rand.New(rand.NewPCG(uint64(between), 1))
	next := func() int { return between*3/4 + draw.IntN(between/2) }
	left := next()
	d.net.afterPiece = nil
	d.net.beforePiece = func(piece []byte) error {
		if left -= len(piece); left >= 0 {
			return nil
		}
		vain += len(piece) + left // what of it fitted
		left = next()
		return errCutNow
	}
	for range 200 {
		_, err := d.Sync(ctx, d.net)
		if err == nil {
			return vain
		}
		if !errors.Is(err, replica.ErrCut) {
			d.t.Fatal(err)
		}
	}
	d.t.Fatal("the photo does not arrive")
	return 0
}

// However few bytes come through between two cuts, a tenth of them at most is lost, once the first cuts have shown how many they
// are; and the next start of the program knows it from the beginning.
func TestPiecesFitTheLine(t *testing.T) {
	t.Parallel()
	for _, between := range []int{40_000, 300_000} {
		w := newWorld(t, storetest.SQLite(t))
		a := w.join(1, jobs.Site)
		a.importHouse()
		a.sync()
		for range 2 {
			a.takes(bigPicture(w))
		}
		vain := a.lineOf(between)
		known := a.BetweenCuts()
		a.open(company)
		a.ExpectCuts(known)
		a.takes(bigPicture(w))
		after := a.lineOf(between)
		t.Logf("%d bytes between cuts: %d of 1800 KiB in vain, then %d of 900 KiB", between, vain, after)
		if vain > 1800<<10/10 || after > 900<<10/10 {
			t.Errorf("%d and %d bytes were sent in vain", vain, after)
		}
	}
}

// Where a line was bad and is good again, pieces grow with what comes through.
func TestPiecesGrowAgain(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a := w.join(1, jobs.Site)
	a.importHouse()
	a.sync()
	a.open(company)
	a.ExpectCuts(10_000)
	for range 3 {
		a.takes(bigPicture(w))
	}
	largest := 0
	a.net.afterPiece = func(piece []byte) error {
		largest = max(largest, len(piece))
		return nil
	}
	a.sync()
	if largest != replica.MaxPiece {
		t.Errorf("the largest piece has %d bytes", largest)
	}
	if known := a.BetweenCuts(); known < 3*900<<10 {
		t.Errorf("%d bytes are expected between cuts", known)
	}
}
