package replica_test

import (
	"errors"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

func onEach(t *testing.T, f func(*testing.T, *world)) {
	t.Run("sqlite", func(t *testing.T) { f(t, newWorld(t, storetest.SQLite(t))) })
	t.Run("postgres", func(t *testing.T) { f(t, newWorld(t, storetest.Postgres(t))) })
}

// Two people record without a network and sync in either order; both devices and the server then hold the same bytes.
func TestTwoDevicesAgree(t *testing.T) {
	onEach(t, func(t *testing.T, w *world) {
		a, b := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
		a.importHouse()
		if rep := a.sync(); rep.Sent != 3 || rep.Waiting != 0 || rep.Held != 0 {
			t.Fatalf("first exchange: %+v", rep)
		}
		if rep := b.sync(); rep.Received != 3 || rep.Sent != 0 {
			t.Fatalf("b gets the job: %+v", rep)
		}
		a.record(`{"do":"install","surface":"C1","layer":1,"share":1}`, note("a"))
		b.record(`{"do":"install","surface":"C1","layer":2,"share":0.5,"mass_kg_m2":12.6}`, note("b"))
		b.sync()
		a.sync()
		b.sync()
		if a.settled() != b.settled() || a.settled() != w.settled() {
			t.Error("the replicas hold different jobs")
		}
		mine, err := b.Job(ctx, company, jobID)
		if export(t, mine, err) != b.settled() {
			t.Error("with nothing waiting, what is seen is not what is settled")
		}
		if !strings.Contains(a.settled(), "12.6") {
			t.Error("what b recorded is not at a")
		}
		for _, r := range []*replica.Replica{a.Replica, b.Replica, w.server} {
			if p, err := r.Prove(ctx, company, jobID); err != nil || p.Entries != 7 || p.Lanes != 2 || p.Unsealed != 0 || p.Seals < 2 {
				t.Errorf("proof %+v, %v", p, err)
			}
		}
		if acts, err := w.server.VerifyLog(ctx, company); acts != 7 || err != nil {
			t.Errorf("log of %d acts: %v", acts, err)
		}
	})
}

// The answer to a push is lost after the commit and the program is killed: the server is asked, nothing is sent again.
func TestLostAnswer(t *testing.T) {
	onEach(t, func(t *testing.T, w *world) {
		a := w.join(1, jobs.Supervisor)
		a.importHouse()
		a.net.loseAnswer = 1
		rep, err := a.Sync(ctx, a.net)
		if !errors.Is(err, replica.ErrUnreachable) || rep.Sent != 0 || rep.Waiting != 3 {
			t.Fatalf("%+v, %v", rep, err)
		}
		a.open(company)
		if rep := a.sync(); rep.Sent != 3 || rep.Waiting != 0 {
			t.Fatalf("after the loss: %+v", rep)
		}
		if a.net.sent != 3 {
			t.Errorf("%d entries went over the wire, not 3", a.net.sent)
		}
		if p, err := a.Prove(ctx, company, jobID); err != nil || p.Receipts != 1 {
			t.Errorf("%+v, %v", p, err)
		}
	})
}

// The same batch again is known, with an equal receipt, and nothing is stored twice.
func TestSameBatchAgain(t *testing.T) {
	onEach(t, func(t *testing.T, w *world) {
		a := w.join(1, jobs.Supervisor)
		a.importHouse()
		b := a.batch()
		first, err := w.server.Receive(ctx, company, a.net.pusher(), b)
		if err != nil {
			t.Fatal(err)
		}
		w.at()
		second, err := w.server.Receive(ctx, company, a.net.pusher(), b)
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range second.Verdicts {
			if !v.Known || v.N != first.Verdicts[i].N || v.State != replica.Standing {
				t.Errorf("verdict %+v after %+v", v, first.Verdicts[i])
			}
		}
		if string(first.Receipts[0].Sig) != string(second.Receipts[0].Sig) {
			t.Error("the receipt is another one")
		}
		if acts, err := w.server.VerifyLog(ctx, company); acts != 3 || err != nil {
			t.Errorf("%d acts, %v", acts, err)
		}
	})
}

// A log that was rolled back and filled again is found out, and the device keeps what it has.
func TestAnotherLog(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a := w.join(1, jobs.Supervisor)
	a.importHouse()
	a.sync()
	before := a.settled()
	restored := newWorld(t, storetest.SQLite(t))
	w.server, w.store = replica.New(replica.Config{Store: restored.store, Blobs: a.dir, Device: w.id("e", 1), Key: w.key, Now: w.at, Rand: w.rand}), restored.store
	b := w.join(2, jobs.Supervisor)
	b.importHouse()
	b.sync()
	if _, err := a.Pull(ctx, a.net); !errors.Is(err, replica.ErrEpochChanged) {
		t.Errorf("got %v", err)
	}
	if a.settled() != before {
		t.Error("the device lost what it had")
	}
}

// A server is restored from a backup and filled again up to the very same position: only the head tells. The devices
// bring back all that they wrote, each record once; what nobody sends again stays visible, to be confirmed.
func TestRestoredAndFilledAgain(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a, b, scrapped := w.join(1, jobs.Supervisor), w.join(2, jobs.Site), w.join(3, jobs.Site)
	a.importHouse()
	a.sync()
	b.sync()
	scrapped.sync()
	backup := backUp(t, w.store)
	pic, err := a.dir.Put(ctx, company, []byte("a picture"))
	if err != nil {
		t.Fatal(err)
	}
	a.record(`{"do":"photo","surface":"C1","file":"`+pic.String()+`"}`, note("after the backup"))
	a.sync()
	scrapped.record(note("by the one that is scrapped"))
	scrapped.sync()
	a.sync()
	before := a.settled()
	w.restore(backup)
	b.record(note("one"), note("two"), note("three"))
	if rep := b.sync(); rep.Sent != 3 { // b has not seen what is lost, and fills the log up to where a has read it
		t.Fatalf("%+v", rep)
	}
	var ref *replica.Refusal
	if _, err := a.Pull(ctx, a.net); !errors.Is(err, replica.ErrEpochChanged) || !errors.As(err, &ref) || ref.Epoch == "" {
		t.Errorf("got %v", err)
	}
	if a.settled() != before {
		t.Error("the device lost what it had")
	}
	a.record(note("meanwhile"))
	a.net.loseOffers = true
	rep := a.sync()
	if rep.Sent != 3 || rep.Received != 3 || rep.Waiting != 0 || rep.Photos != 0 {
		t.Errorf("%+v", rep)
	}
	b.sync()
	if a.settled() != b.settled() || a.settled() != w.settled() || !strings.Contains(w.settled(), "after the backup") {
		t.Error("the replicas hold different jobs")
	}
	if data, err := w.server.Photo(ctx, company, jobID, pic); err != nil || string(data) != "a picture" {
		t.Errorf("the photo is not back: %q, %v", data, err)
	}
	j, err := a.Job(ctx, company, jobID)
	if out := export(t, j, err); !strings.Contains(out, "by the one that is scrapped") || strings.Contains(a.settled(), "by the one that is scrapped") {
		t.Error("what only the lost log had is not shown as what is to be confirmed")
	}
	scrapped.sync() // it is found again
	a.sync()
	b.sync()
	if a.settled() != b.settled() || a.settled() != w.settled() || !strings.Contains(a.settled(), "by the one that is scrapped") {
		t.Error("not all is back")
	}
	if acts, err := w.server.VerifyLog(ctx, company); acts != 10 || err != nil {
		t.Errorf("%d acts, %v: each record once makes 10", acts, err)
	}
	for _, d := range []*device{a, b, scrapped} {
		if err := d.Verify(ctx, company, jobID); err != nil {
			t.Error(err)
		}
	}
}

// The server loses what it had confirmed before anybody has read it: no cursor tells, and still it is sent again.
func TestLostBeforeItWasRead(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a := w.join(1, jobs.Supervisor)
	a.importHouse()
	a.sync()
	backup := backUp(t, w.store)
	a.record(note("confirmed and lost"))
	if _, err := a.Push(ctx, a.net); err != nil {
		t.Fatal(err)
	}
	w.restore(backup)
	if rep := a.sync(); rep.Waiting != 0 {
		t.Errorf("%+v", rep)
	}
	if a.settled() != w.settled() || !strings.Contains(w.settled(), "confirmed and lost") {
		t.Error("what was confirmed is gone")
	}
}

// The server's own record goes through the same corridor and reaches the devices sealed.
func TestServerRecords(t *testing.T) {
	onEach(t, func(t *testing.T, w *world) {
		a := w.join(1, jobs.Supervisor)
		a.importHouse()
		a.sync()
		es, err := w.server.Record(ctx, company, a.author(), jobID, raws(note("from the office")))
		if err != nil || es[0].Dev == a.id {
			t.Fatal(es, err)
		}
		if rep := a.sync(); rep.Received != 1 {
			t.Fatalf("%+v", rep)
		}
		if p, err := a.Prove(ctx, company, jobID); err != nil || p.Lanes != 2 || p.Unsealed != 0 || p.Receipts != 2 {
			t.Errorf("%+v, %v", p, err)
		}
		if a.settled() != w.settled() {
			t.Error("different jobs")
		}
	})
}
