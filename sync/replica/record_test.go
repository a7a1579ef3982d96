package replica_test

import (
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/storetest"
)

func raws(edges ...string) []json.RawMessage {
	raw := make([]json.RawMessage, len(edges))
	for i, e := range edges {
		raw[i] = json.RawMessage(e)
	}
	return raw
}

// A batch is taken whole or not at all, and a refusal leaves the job as it was, in memory too.
func TestWholeOrNothing(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a := w.join(1, jobs.Site)
	if _, err := a.try(note("x")); !errors.Is(err, replica.ErrNoJob) {
		t.Errorf("a record on a job that is not there: %v", err)
	}
	a.importHouse()
	j, err := a.Job(ctx, company, jobID)
	before := export(t, j, err)
	_, err = a.try(note("fine"), `{"do":"install","surface":"C1","layer":9,"share":1}`)
	var in *jobs.InputError
	if !errors.As(err, &in) {
		t.Fatalf("got %v", err)
	}
	j, err = a.Job(ctx, company, jobID)
	if export(t, j, err) != before {
		t.Error("something of a refused batch is left")
	}
	if n, _, _, err := a.Waiting(ctx, company); n != 3 || err != nil {
		t.Errorf("%d wait, %v", n, err)
	}
	es := a.record(note("fine"))
	if es[0].Seq != 4 || es[0].Run != 4 {
		t.Errorf("place %d, number %d after a refused batch", es[0].Seq, es[0].Run)
	}
	if _, err := a.try(`{"do":"photo","file":"` + jobs.HashBlob([]byte("nowhere")).String() + `"}`); !errors.As(err, &in) {
		t.Errorf("a photo that is not here was named: %v", err)
	}
}

// The job in memory is the job on the disk.
func TestJobIsTheFold(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a := w.join(1, jobs.Supervisor)
	a.importHouse()
	for i := range 20 {
		a.record(note(string(rune('a' + i))))
		if _, err := a.Job(ctx, company, jobID); err != nil {
			t.Fatal(err)
		}
	}
	j, err := a.Job(ctx, company, jobID)
	warm := export(t, j, err)
	a.open(company)
	j, err = a.Job(ctx, company, jobID)
	if export(t, j, err) != warm {
		t.Error("a program started anew sees another job")
	}
}

// A clock that is a year ahead for a day drags nobody along, and falls back when the server is met again.
func TestClockAhead(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a, b := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
	a.importHouse()
	a.sync()
	b.sync()
	w.now = w.now.AddDate(1, 0, 0)
	wrong := b.record(note("a year ahead"))[0]
	w.now = w.now.AddDate(-1, 0, 0)
	b.sync()
	a.sync()
	es, err := w.server.Record(ctx, company, a.author(), jobID, raws(note("at the server")))
	if err != nil || es[0].Clk.Time().Sub(w.now) > time.Minute {
		t.Errorf("the server's clock is %s off, %v", es[0].Clk.Time().Sub(w.now), err)
	}
	fine := a.record(note("a"))[0]
	if d := fine.Clk.Time().Sub(w.now); d > time.Minute || d < -time.Minute {
		t.Errorf("a's clock is %s off", d)
	}
	right := b.record(note("b"))[0]
	if d := right.Clk.Time().Sub(w.now); d > time.Minute || d < -time.Minute {
		t.Errorf("b's clock is still %s off", d)
	}
	if right.Prev != wrong.Hash {
		t.Error("the lane does not go on")
	}
}

// Clocks of one home never stand still or run back, though the wall does.
func TestClockOnlyRises(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a := w.join(1, jobs.Supervisor)
	a.importHouse()
	last := jobs.Clock(0)
	for range 10 {
		w.now = w.now.Add(-time.Hour)
		e := a.record(note("x"))[0]
		if e.Clk <= last {
			t.Fatalf("%x after %x", e.Clk, last)
		}
		last = e.Clk
	}
}

// A home that worked alone joins a company: everything comes along under the new identity, nothing of the old is lost.
func TestRejoin(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	home := w.id("c", 9)
	a := w.alone(home, 1, jobs.Owner)
	a.importHouse()
	a.record(`{"do":"install","surface":"C1","layer":1,"share":1}`)
	made := a.record(note("x"))[0]
	pic, err := a.dir.Put(ctx, home, []byte("a picture"))
	if err != nil {
		t.Fatal(err)
	}
	a.record(`{"do":"note","text":"corrected","over":"`+made.ID+`"}`, `{"do":"photo","surface":"C1","file":"`+pic.String()+`"}`)
	if _, err := a.Sync(ctx, a.net); !errors.Is(err, replica.ErrNotEnrolled) {
		t.Errorf("sync of a home alone: %v", err)
	}
	j, err := a.Settled(ctx, home, jobID)
	if err != nil || len(j.Records) != 7 {
		t.Fatalf("settled alone: %v", err)
	}
	to := replica.Me{Company: company, Device: w.id("d", 5), Person: w.id("b", 5), Role: jobs.Supervisor, Server: "https://example.org", ServerKey: pub(w.key)}
	key := w.newKey()
	n, err := a.Rejoin(ctx, home, to, key)
	if err != nil || n != 1 {
		t.Fatalf("%d jobs, %v", n, err)
	}
	a.id, a.key, a.me = to.Device, key, to
	if rep := a.sync(); rep.Sent != 7 || rep.Held != 0 || rep.Waiting != 0 || rep.Photos != 0 {
		t.Fatalf("%+v", rep)
	}
	now, err := w.server.Job(ctx, company, jobID)
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range now.Records {
		was := j.Records[i]
		if r.Was != was.Hash || r.ID != was.ID || r.By != to.Person || r.Clk != was.Clk || r.Dev != to.Device {
			t.Errorf("entry %d: %+v was %+v", i, r.Envelope, was.Envelope)
		}
	}
	if over := now.ByID(now.Records[5].ID).Refers(jobs.Over); len(over) != 1 || over[0] != now.ByID(made.ID).Hash {
		t.Errorf("the reference does not follow: %v", over)
	}
	if data, err := w.server.Photo(ctx, company, jobID, pic); err != nil || string(data) != "a picture" {
		t.Errorf("photo %q, %v", data, err)
	}
	if p, err := a.Prove(ctx, home, jobID); err != nil || p.Entries != 7 {
		t.Errorf("the old record: %+v, %v", p, err)
	}
	if me, err := a.store.Active(ctx); err != nil || me.Company != company {
		t.Errorf("active %+v, %v", me, err)
	}
	a.open(company)
	a.record(note("and on"))
	a.sync()
}

// The list of jobs, sheets and a rebuild from the entries.
func TestViews(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a := w.join(1, jobs.Supervisor)
	a.importHouse()
	rows, err := a.Jobs(ctx, company)
	if err != nil || len(rows) != 1 || rows[0].Name != "7b Lantern Row" || rows[0].Unsent != 3 {
		t.Fatalf("%+v, %v", rows, err)
	}
	code := jobs.SheetCode(jobID, "C1")
	if job, surface, err := a.FindSheet(ctx, company, code); err != nil || job != jobID || surface != "C1" {
		t.Errorf("%s %s %v", job, surface, err)
	}
	if _, _, err := a.FindSheet(ctx, company, "0000000000000"); !errors.Is(err, jobs.ErrNotFound) {
		t.Errorf("a code of nothing: %v", err)
	}
	first, err := a.Rebuild(ctx)
	if err != nil || first.Jobs != 1 {
		t.Fatalf("%+v, %v", first, err)
	}
	if second, err := a.Rebuild(ctx); err != nil || second != first {
		t.Errorf("%+v, then %+v, %v", first, second, err)
	}
}

// Photos go after the entries that name them, and only to who asks by the job that names them.
func TestPhotos(t *testing.T) {
	onEach(t, func(t *testing.T, w *world) {
		w.tampered = true // a file is taken away at the end
		a, b := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
		a.importHouse()
		pic, err := a.dir.Put(ctx, company, []byte("a picture"))
		if err != nil {
			t.Fatal(err)
		}
		a.record(`{"do":"photo","surface":"C1","file":"` + pic.String() + `"}`)
		if _, photos, _, err := a.Waiting(ctx, company); photos != 1 || err != nil {
			t.Errorf("%d photos wait, %v", photos, err)
		}
		if err := w.server.TakePhoto(ctx, company, jobID, pic, []byte("a picture")); !errors.Is(err, jobs.ErrNotFound) {
			t.Errorf("a photo that no entry names was taken: %v", err)
		}
		if _, err := a.Push(ctx, a.net); err != nil {
			t.Fatal(err)
		}
		b.sync() // the photo is not there yet; that is no error
		if rep := a.sync(); rep.Photos != 0 {
			t.Errorf("%+v", rep)
		}
		b.sync()
		if data, err := b.Photo(ctx, company, jobID, pic); err != nil || string(data) != "a picture" {
			t.Errorf("%q, %v", data, err)
		}
		rep := manyPhotos(t, a)
		if rep.Photos != 1 {
			t.Errorf("%+v", rep)
		}
		b.sync()
		if n, err := b.fetched(); n != 46 || err != nil {
			t.Errorf("b has %d photos, %v", n, err)
		}
		if _, err := w.server.Photo(ctx, company, w.id("a", 2), pic); !errors.Is(err, jobs.ErrNotFound) {
			t.Errorf("a hash opens a photo of another job: %v", err)
		}
		if err := w.server.TakePhoto(ctx, company, jobID, pic, []byte("another")); !errors.Is(err, replica.ErrBadHash) {
			t.Errorf("another picture under this hash: %v", err)
		}
	})
}

// manyPhotos takes 46 photos, more than are looked up at a time, of which one is then lost from the disk.
func manyPhotos(t *testing.T, a *device) replica.Report {
	t.Helper()
	for i := range 46 {
		h, err := a.dir.Put(ctx, company, fmt.Appendf(nil, "picture %d", i))
		if err != nil {
			t.Fatal(err)
		}
		a.record(`{"do":"photo","surface":"C1","file":"` + h.String() + `"}`)
		if i == 3 {
			lost := hex.EncodeToString(h[:])
			found, err := filepath.Glob(filepath.Join(a.photos, "*", "*", lost+".jpg"))
			if err != nil || len(found) != 1 {
				t.Fatal(found, err)
			}
			if err := os.Remove(found[0]); err != nil {
				t.Fatal(err)
			}
		}
	}
	rep, err := a.Sync(ctx, a.net)
	if !errors.Is(err, jobs.ErrNotFound) {
		t.Errorf("a photo that is gone is not said: %v", err)
	}
	return rep
}

// fetched counts the photos that are whole on this device.
func (d *device) fetched() (n int, err error) {
	err = d.store.Read(ctx, company, func(tx replica.Tx) error {
		n, err = tx.CountPhotos(true, true)
		return err
	})
	return n, err
}

// Views that were changed behind the program's back are found and made right.
func TestRebuildFindsChanges(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	w.tampered = true
	a := w.join(1, jobs.Supervisor)
	a.importHouse()
	if _, err := a.Jobs(ctx, company); err != nil {
		t.Fatal(err)
	}
	if err := a.store.(*store.Store).DB().Exec("UPDATE view_job SET name = 'another'").Error; err != nil {
		t.Fatal(err)
	}
	if _, err := a.Rebuild(ctx); !errors.Is(err, replica.ErrBroken) {
		t.Errorf("got %v", err)
	}
	rows, err := a.Jobs(ctx, company)
	if err != nil || rows[0].Name != "7b Lantern Row" {
		t.Errorf("%+v, %v", rows, err)
	}
	if err := a.store.(*store.Store).DB().Exec("UPDATE digest SET count = count + 1").Error; err != nil {
		t.Fatal(err)
	}
	if _, err := a.Rebuild(ctx); !errors.Is(err, replica.ErrBroken) {
		t.Errorf("a count that is not that of the entries: %v", err)
	}
}
