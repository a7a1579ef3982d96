package replica_test

import (
	"fmt"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// weeks has one device record, in so many exchanges of ten entries, and another read each of them.
func weeks(a, b *device, n int, what string) {
	for i := range n {
		var edges []string
		for k := range 10 {
			edges = append(edges, note(fmt.Sprint(what, " ", i, " ", k)))
		}
		a.record(edges...)
		a.sync()
		b.sync()
	}
}

// fewer is a third for the race detector, which looks at each step ten times as long.
func fewer(n int) int {
	if testing.Short() {
		return (n + 2) / 3
	}
	return n
}

// acts counts the acts that come in an exchange.
func (d *device) acts() int {
	d.t.Helper()
	before := d.net.acts
	d.sync()
	return d.net.acts - before
}

// A server goes back to the backup of last night. The devices fetch again what was lost, and as much again at most (arithmetic: the rung
// before it is at most twice as far away, and a few short answers tell which one it is), not the whole log; and a device of which nothing
// is known but its cursor, as an earlier version left it, begins anew. All hold the same in the end.
func TestGoingBackFetchesWhatWasLost(t *testing.T) {
	t.Parallel()
	w := newWorld(t, storetest.SQLite(t))
	a, b, old, away := w.join(1, jobs.Supervisor), w.join(2, jobs.Site), w.join(3, jobs.Site), w.join(4, jobs.Site)
	a.importHouse()
	a.sync()
	weeks(a, b, fewer(30), "before")
	away.sync()
	backup := backUp(t, w.store)
	weeks(a, b, 4, "after")
	old.sync()
	before := a.settled()
	w.restore(backup)
	away.record(note("by one who has not heard of it")) // or the log would become again what it was, to the letter
	away.sync()
	end := 0
	for i, d := range []*device{a, b, old} {
		me, err := d.Me(ctx, company)
		if err != nil {
			t.Fatal(err)
		}
		end = int(me.Cursor.N)
		if d == old {
			if err := d.store.Write(ctx, company, func(tx replica.Tx) error {
				me.Ladder = nil
				return tx.PutMe(me)
			}); err != nil {
				t.Fatal(err)
			}
		}
		d.record(note("written when it was back"))
		n := d.acts()
		t.Logf("device %d fetched %d acts of %d, of which the server had lost 40", i, n, end)
		if d == old && n < end || d != old && n > 40+2*40+6*2 {
			t.Errorf("device %d fetched %d acts of %d", i, n, end)
		}
	}
	for range 2 {
		for _, d := range []*device{a, b, old, away} {
			d.sync()
		}
	}
	for _, d := range []*device{a, b, old, away} {
		if d.settled() != w.settled() {
			t.Errorf("%s holds another job than the server", d.id)
		}
	}
	if before == w.settled() || !strings.Contains(w.settled(), "after 3 9") {
		t.Error("what was lost is not back")
	}
	agree(t, w, a, b, old, away)
}

// agree looks at all that must be true of a server and devices that have exchanged everything.
func agree(t *testing.T, w *world, ds ...*device) {
	t.Helper()
	server := &storetest.Side{Name: "the server", Store: w.store, Replica: w.server}
	var sides []*storetest.Side
	for _, d := range ds {
		sides = append(sides, &storetest.Side{Name: d.id, Store: d.store, Replica: d.Replica, Blobs: d.dir})
	}
	if err := storetest.Agree(ctx, company, server, sides...); err != nil {
		t.Error(err)
	}
}

// An entry was held long ago and admitted after the backup. The log behind the last rung that is shared does not say that it was held:
// there is no rung between the two, so the device goes back behind the first, and shows the entry as held again until it is admitted once
// more.
func TestGoingBackBehindWhatBecameOfAnEntry(t *testing.T) {
	t.Parallel()
	w := newWorld(t, storetest.SQLite(t))
	w.tampered = true // acts are written as a later version of the server does
	a, b := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
	a.importHouse()
	a.sync()
	weeks(a, b, fewer(4), "long ago")
	e := b.record(note("the words that wait"))[0]
	b.net.persons = map[string]jobs.Role{}
	b.sync()
	b.net.persons = nil
	weeks(a, b, fewer(10), "since")
	backup := backUp(t, w.store)
	weeks(a, b, 2, "after")
	w.act(replica.ActAdmit, e.Hash, replica.Standing)
	weeks(a, b, fewer(2), "after that")
	states := func(d *device) replica.State {
		list, err := d.States(ctx, company, jobID)
		if err != nil {
			t.Fatal(err)
		}
		return list[e.ID]
	}
	if states(a) != replica.Standing || states(b) != replica.Standing {
		t.Fatalf("before: %s and %s", states(a), states(b))
	}
	w.restore(backup)
	for range 2 {
		a.sync()
		b.sync()
	}
	if states(a) != replica.Held || states(b) != replica.Held {
		t.Errorf("at the server it is held, here %s and %s", states(a), states(b))
	}
	agree(t, w, a, b)
	w.act(replica.ActAdmit, e.Hash, replica.Standing)
	a.sync()
	b.sync()
	if states(a) != replica.Standing || states(b) != replica.Standing {
		t.Errorf("admitted again it is %s and %s", states(a), states(b))
	}
	agree(t, w, a, b)
}

// A device that does not see all jobs begins anew, since what it has is not simply what the log says up to a position.
func TestGoingBackNarrow(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a, b := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
	b.narrow()
	a.importHouse()
	a.sync()
	b.give(true)
	weeks(a, b, fewer(6), "before")
	backup := backUp(t, w.store)
	weeks(a, b, 2, "after")
	w.restore(backup)
	b.give(true)
	for range 3 {
		a.sync()
		b.sync()
	}
	if b.settled() != a.settled() || b.settled() != w.settled() || !strings.Contains(b.settled(), "after 1 9") {
		t.Error("the replicas hold different jobs")
	}
	if me, err := b.Me(ctx, company); err != nil || !strings.HasPrefix(me.Access, "narrow ") {
		t.Errorf("%q, %v: nothing is kept from it, and the test shows nothing", me.Access, err)
	}
}
