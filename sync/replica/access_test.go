package replica_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// say signs a statement as the server does, a moment later than the one before, and gives it to the server.
func (w *world) say(a replica.Access) replica.Access {
	w.t.Helper()
	a.Co, a.At = company, w.at().UnixMilli()
	if err := a.Sign(w.key); err != nil {
		w.t.Fatal(err)
	}
	if _, err := w.server.Heed(ctx, company, []replica.Access{a}); err != nil {
		w.t.Fatal(err)
	}
	return a
}

func (d *device) narrow() { d.say(replica.Access{What: replica.AccessJobs, ID: d.me.Person}) }

func (d *device) give(may bool) {
	d.say(replica.Access{What: replica.AccessJob, ID: d.me.Person, Job: jobID, May: may})
}

func (d *device) has() int {
	d.t.Helper()
	n := 0
	err := d.store.Read(ctx, company, func(tx replica.Tx) error {
		list, err := tx.Entries(jobID, 0)
		n = len(list)
		return err
	})
	if err != nil {
		d.t.Fatal(err)
	}
	return n
}

func (d *device) part() string {
	d.t.Helper()
	parts, err := d.Parts(ctx, company)
	if err != nil {
		d.t.Fatal(err)
	}
	for _, p := range parts {
		if p.Job == jobID {
			return p.State
		}
	}
	return ""
}

// A job that is given later than it began comes with its whole history, cut or not; nothing of it is there before all of it is. One
// that is taken away stays, gets nothing new, and catches up when it is given again. What is recorded meanwhile is held.
func TestAccessToOneJob(t *testing.T) {
	onEach(t, func(t *testing.T, w *world) {
		a, b := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
		b.narrow()
		a.importHouse()
		for i := range 80 {
			a.record(note(fmt.Sprintf("%d before it was given %s", i, strings.Repeat("and long ", 300))))
		}
		a.sync()
		if rep := b.sync(); rep.Received != 0 || b.has() != 0 {
			t.Fatalf("b got %+v, %d entries", rep, b.has())
		}
		for _, f := range []func() error{
			func() error { return w.server.MaySee(ctx, company, b.net.viewer(), jobID) },
			func() error {
				_, err := w.server.HistoryFor(ctx, company, b.net.viewer(), jobID, 0, 50, 1<<20)
				return err
			},
		} {
			if err := f(); !errors.Is(err, jobs.ErrNotFound) {
				t.Errorf("what b does not see: %v", err)
			}
		}
		b.give(true)
		a.record(note("after it was given"))
		a.sync()
		cuts := 0
		b.net.loseHistory = 2
		for round := 0; b.part() != "" || b.has() == 0; round++ {
			if round > 60 {
				t.Fatal("it does not arrive")
			}
			_, err := b.Sync(ctx, b.net)
			if errors.Is(err, replica.ErrUnreachable) {
				cuts++
				if n := b.has(); n != 0 {
					t.Fatalf("%d entries count though not all are here", n)
				}
				b.open(company)
			} else if err != nil {
				t.Fatal(err)
			}
		}
		b.net.loseHistory = 0
		total := a.has()
		if cuts < 1 || b.has() != total || b.settled() != a.settled() {
			t.Errorf("%d cuts, %d of %d entries", cuts, b.has(), total)
		}
		if again := b.net.historyActs - total; again > cuts*50 { // 128 KiB are 48 of these entries
			t.Errorf("%d acts were fetched twice after %d cuts", again, cuts)
		}
		t.Logf("%d cuts, %d pages, %d acts for %d entries", cuts, b.net.histories, b.net.historyActs, total)
		b.record(note("from b"))
		if rep := b.sync(); rep.Held != 0 || rep.Sent != 1 {
			t.Errorf("%+v", rep)
		}
		before := b.settled()
		b.give(false)
		kept := b.record(note("from b, who does not know"))[0]
		a.sync()
		a.record(note("not for b"))
		a.sync()
		rep := b.sync()
		if rep.Received != 0 || rep.Held != 1 || b.part() != replica.PartEnded || b.settled() != before {
			t.Errorf("%+v, %s", rep, b.part())
		}
		if j, err := b.Job(ctx, company, jobID); err != nil || len(j.Records) == 0 {
			t.Errorf("what is here does not stay: %v", err)
		}
		a.sync()
		a.record(`{"do":"admission","on":["` + kept.ID + `"],"answer":"admit","reason":"seen"}`)
		a.sync()
		b.sync()
		if states, err := b.States(ctx, company, jobID); err != nil || states[kept.ID] != replica.Standing {
			t.Errorf("b does not learn what became of its own: %v, %v", states[kept.ID], err)
		}
		b.give(true)
		b.sync()
		b.sync()
		a.sync()
		if b.part() != "" || b.settled() != a.settled() || b.has() != a.has() {
			t.Errorf("given again: %q, %d of %d entries", b.part(), b.has(), a.has())
		}
		for _, d := range []*device{a, b} {
			if err := d.Verify(ctx, company, jobID); err != nil {
				t.Error(err)
			}
		}
	})
}

// Who sees only what is given sees what they begin, and so do the others; and who sees all again gets all.
func TestNarrowAndWide(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a, b := w.join(1, jobs.Office), w.join(2, jobs.Site)
	a.narrow() // an office that gives access sees everything
	b.narrow()
	b.importHouse()
	b.sync()
	if a.sync(); a.has() != b.has() || a.has() == 0 {
		t.Errorf("a has %d, b %d", a.has(), b.has())
	}
	a.record(note("seen by its author's side"))
	a.sync()
	if b.sync(); b.settled() != a.settled() {
		t.Error("b does not see what others add to the job that it began")
	}
	c := w.join(3, jobs.Site)
	c.narrow()
	if c.sync(); c.has() != 0 {
		t.Errorf("c has %d", c.has())
	}
	c.say(replica.Access{What: replica.AccessJobs, ID: c.me.Person, May: true})
	c.sync()
	if c.sync(); c.settled() != a.settled() || c.part() != "" {
		t.Errorf("c has %d of %d, %q", c.has(), a.has(), c.part())
	}
	pic := a.takes([]byte("a picture"))
	a.sync()
	c.give(false)
	c.sync()
	if err := w.server.MaySee(ctx, company, c.net.viewer(), jobID); !errors.Is(err, jobs.ErrNotFound) {
		t.Errorf("c may fetch photo %s: %v", pic, err)
	}
	if b.sync(); b.settled() != a.settled() {
		t.Error("b")
	}
}

// A server comes back from a backup in which a stolen tablet was still good. It works again until the first honest device comes back,
// which brings what the server had said; what the tablet sent meanwhile is taken out and held.
func TestRevocationSurvivesRestore(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	honest, stolen := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
	honest.importHouse()
	honest.sync()
	stolen.sync()
	stolen.record(note("before it was stolen"))
	stolen.sync()
	backup := backUp(t, w.store)
	w.say(replica.Access{What: replica.AccessDevice, ID: stolen.id})
	if _, err := stolen.Sync(ctx, stolen.net); !errors.Is(err, replica.ErrRevoked) {
		t.Fatalf("revoked: %v", err)
	}
	honest.record(note("after the revocation"))
	honest.sync() // learns of it

	w.restore(backup)
	if err := w.server.NewEpoch(ctx, company, "test"); err != nil {
		t.Fatal(err)
	}
	thief := stolen.record(note("by the thief"))[0]
	if rep := stolen.sync(); rep.Sent != 1 {
		t.Fatalf("the old backup does not know: %+v", rep)
	}
	honest.sync()
	if _, err := stolen.Sync(ctx, stolen.net); !errors.Is(err, replica.ErrRevoked) {
		t.Errorf("after an honest device came back: %v", err)
	}
	states, err := w.server.States(ctx, company, jobID)
	if err != nil || states[thief.ID] != replica.Held {
		t.Errorf("what the thief sent is %q, %v", states[thief.ID], err)
	}
	if honest.sync(); honest.settled() != w.settled() {
		t.Error("the honest device and the server differ")
	}
	if _, err := w.server.VerifyLog(ctx, company); err != nil {
		t.Error(err)
	}
}

// Only the server's own word counts, and only the latest.
func TestWordsOnAccess(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	d := w.join(1, jobs.Site)
	d.importHouse()
	d.sync()
	said := replica.Access{Co: company, What: replica.AccessJob, ID: d.me.Person, Job: jobID, At: 5}
	if _, err := w.server.Heed(ctx, company, []replica.Access{said}); !errors.Is(err, replica.ErrBadSeal) {
		t.Errorf("without a signature: %v", err)
	}
	if err := said.Sign(d.key); err != nil {
		t.Fatal(err)
	}
	if _, err := w.server.Heed(ctx, company, []replica.Access{said}); !errors.Is(err, replica.ErrBadSeal) {
		t.Errorf("signed by a device: %v", err)
	}
	signed := func(at int64, may bool) replica.Access {
		a := replica.Access{Co: company, What: replica.AccessJob, ID: d.me.Person, Job: jobID, At: at, May: may}
		if err := a.Sign(w.key); err != nil {
			t.Fatal(err)
		}
		return a
	}
	fresh, err := w.server.Heed(ctx, company, []replica.Access{signed(7, false), signed(9, true), signed(8, false)})
	if err != nil || len(fresh) != 1 || fresh[0].At != 9 {
		t.Errorf("%+v, %v", fresh, err)
	}
	if fresh, err := w.server.Heed(ctx, company, []replica.Access{signed(8, false), signed(9, true)}); err != nil || len(fresh) != 0 {
		t.Errorf("%+v, %v", fresh, err)
	}
	bad := signed(20, false)
	bad.ID = w.id("b", 9)
	if _, err := w.server.Heed(ctx, company, []replica.Access{bad}); !errors.Is(err, replica.ErrBadSeal) {
		t.Errorf("changed: %v", err)
	}
	list, err := w.server.Statements(ctx, company)
	if err != nil || !slices.ContainsFunc(list, func(a replica.Access) bool { return a.May && a.At == 9 }) || len(list) != 1 {
		t.Errorf("%+v, %v", list, err)
	}
}
