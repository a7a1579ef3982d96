package replica_test

import (
	"context"
	"crypto/ed25519"
	"errors"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// act writes one more act of the log, as a later version of the server does.
func (w *world) act(act string, h jobs.Hash, to replica.State) {
	w.t.Helper()
	err := w.store.Write(ctx, company, func(tx replica.Tx) error {
		seq, err := tx.Seq()
		if err != nil {
			return err
		}
		seq.N++
		seq.Head = replica.NextHead(seq.Head, seq.N, act, h)
		if err := tx.Log([]replica.Act{{N: seq.N, Act: act, H: h, Job: jobID, Head: seq.Head, At: 1}}); err != nil {
			return err
		}
		if err := tx.SetSeq(seq); err != nil {
			return err
		}
		if to == "" {
			return nil
		}
		if err := tx.SetState(h, to, seq.N, ""); err != nil {
			return err
		}
		list, err := tx.Entries(jobID, 0)
		if err != nil {
			return err
		}
		m, err := tx.Mark(jobID)
		if err != nil {
			return err
		}
		m.N, m.Count, m.Sum = seq.N, 0, jobs.Hash{}
		m.Rev++
		for _, s := range list {
			if s.State == replica.Standing {
				m.Count++
				m.Sum = sum(m.Sum, s.Hash)
			}
		}
		return tx.SetMark(m)
	})
	if err != nil {
		w.t.Fatalf("%s: %v", act, err)
	}
}

// sum adds two 256-bit numbers, byte by byte.
func sum(a, b jobs.Hash) (s jobs.Hash) {
	carry := 0
	for i := len(a) - 1; i >= 0; i-- {
		n := int(a[i]) + int(b[i]) + carry
		s[i], carry = byte(n), n>>8
	}
	return s
}

// What was held is admitted, withdrawn and refused: every replica follows, with the body where it comes.
func TestActsMoveEntries(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	w.tampered = true
	a, b := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
	a.importHouse()
	a.sync()
	b.sync()
	e := b.record(note("the words that wait"))[0]
	b.net.persons = map[string]jobs.Role{}
	b.sync()
	a.sync()
	sees := func(d *device) bool {
		j, err := d.Job(ctx, company, jobID)
		shown := strings.Contains(export(t, j, err), "the words that wait")
		if settled := strings.Contains(d.settled(), "the words that wait"); settled != shown {
			t.Errorf("%s shows %v, settled %v", d.id, shown, settled)
		}
		return shown
	}
	for _, c := range []struct {
		act  string
		to   replica.State
		seen bool
	}{
		{replica.ActAdmit, replica.Standing, true},
		{replica.ActWithdraw, replica.Held, false},
		{replica.ActAdmit, replica.Standing, true},
		{replica.ActWithdraw, replica.Held, false},
		{replica.ActRefuse, replica.Refused, false},
	} {
		w.act(c.act, e.Hash, c.to)
		a.sync()
		b.sync()
		if sees(a) != c.seen || sees(b) != c.seen {
			t.Errorf("after %s: a sees it %v, b %v", c.act, sees(a), sees(b))
		}
		states, err := a.States(ctx, company, jobID)
		if err != nil || states[e.ID] != c.to {
			t.Errorf("after %s it is %s, %v", c.act, states[e.ID], err)
		}
		if a.settled() != b.settled() || a.settled() != w.settled() {
			t.Errorf("after %s the replicas hold different jobs", c.act)
		}
	}
	late := w.join(3, jobs.Site) // gets all of it in one page
	late.sync()
	if late.settled() != a.settled() {
		t.Error("a device that comes late holds another job")
	}
	w.act("transmogrify", e.Hash, "")
	if _, err := a.Pull(ctx, a.net); !errors.Is(err, replica.ErrTooOld) {
		t.Errorf("an act of a newer version: %v", err)
	}
}

// A digest that differs stops the exchange: something is wrong that only a person can look into. All is kept.
func TestDigestDiffers(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	w.tampered = true
	a := w.join(1, jobs.Supervisor)
	a.importHouse()
	if _, err := a.Push(ctx, a.net); err != nil {
		t.Fatal(err)
	}
	err := w.store.Write(ctx, company, func(tx replica.Tx) error {
		m, err := tx.Mark(jobID)
		if err != nil {
			return err
		}
		m.Sum[3]++
		return tx.SetMark(m)
	})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.Pull(ctx, a.net); !errors.Is(err, replica.ErrDiverged) {
		t.Errorf("got %v", err)
	}
	if p, err := a.Prove(ctx, company, jobID); err != nil || p.Entries != 3 {
		t.Errorf("%+v, %v", p, err)
	}
}

// narrow is a link on which only small messages arrive.
type narrow struct {
	*network
	limit, refused int
	why            error
}

func (n *narrow) Push(ctx context.Context, b replica.Batch) (replica.Answer, error) {
	size := 0
	for _, e := range b.Entries {
		size += len(e.Env) + len(e.Body)
	}
	if size > n.limit {
		n.refused++
		return replica.Answer{}, n.why
	}
	return n.network.Push(ctx, b)
}

// A server that takes little at a time gets little at a time, and the exchange goes through at once.
func TestTooLargeIsHalved(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a := w.join(1, jobs.Supervisor)
	a.importHouse()
	for range 40 {
		a.record(note(strings.Repeat("long ", 500)))
	}
	link := &narrow{network: a.net, limit: 5000, why: replica.ErrTooLarge}
	if rep, err := a.Sync(ctx, link); err != nil || rep.Sent != 43 || link.refused == 0 {
		t.Errorf("%+v, %v, %d refused", rep, err, link.refused)
	}
}

// On a link that loses all that is long, a few tries find what is short enough.
func TestNarrowLink(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a := w.join(1, jobs.Supervisor)
	a.importHouse()
	for range 40 {
		a.record(note(strings.Repeat("long ", 500)))
	}
	link := &narrow{network: a.net, limit: 5000, why: replica.ErrUnreachable}
	for try := 0; ; try++ {
		rep, err := a.Sync(ctx, link)
		if err == nil && rep.Waiting == 0 {
			break
		}
		if !errors.Is(err, replica.ErrUnreachable) || try == 45 {
			t.Fatalf("try %d: %+v, %v", try, rep, err)
		}
	}
}

// Devices of a company at the server, and the directory at a device.
func TestDevicesAndPeople(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	d := replica.Device{ID: w.id("d", 1), Key: pub(w.newKey()), Name: "tablet 1", Person: w.id("b", 1)}
	if err := w.server.Enlist(ctx, company, d); err != nil {
		t.Fatal(err)
	}
	var in *jobs.InputError
	if err := w.server.Enlist(ctx, company, d); !errors.As(err, &in) {
		t.Errorf("the same device twice: %v", err)
	}
	if err := w.server.Enlist(ctx, company, replica.Device{ID: w.id("d", 2), Key: ed25519.PublicKey("short")}); !errors.As(err, &in) {
		t.Errorf("a short key: %v", err)
	}
	if err := w.server.Revoke(ctx, company, w.id("d", 9)); !errors.Is(err, jobs.ErrNotFound) {
		t.Errorf("a device that is not there: %v", err)
	}
	if err := w.server.Revoke(ctx, company, d.ID); err != nil {
		t.Fatal(err)
	}
	first, err := w.server.Device(ctx, company, d.ID)
	if err != nil || first.Revoked == 0 || first.Name != d.Name || !first.Key.Equal(d.Key) {
		t.Errorf("%+v, %v", first, err)
	}
	if err := w.server.Revoke(ctx, company, d.ID); err != nil {
		t.Fatal(err)
	}
	ds, err := w.server.Devices(ctx, company)
	if err != nil || len(ds) != 1 || ds[0].Revoked != first.Revoked {
		t.Errorf("%+v, %v: revoked once is revoked since then", ds, err)
	}
	if _, err := w.server.Device(ctx, storetest.Other, d.ID); !errors.Is(err, jobs.ErrNotFound) {
		t.Errorf("a device of another company: %v", err)
	}
	a := w.join(3, jobs.Site)
	if _, err := a.Sync(ctx, a.net); err != nil {
		t.Fatal(err)
	}
	ps, err := a.People(ctx, company)
	if err != nil || len(ps) != 1 || ps[0].Name != "Sam Example" {
		t.Errorf("%+v, %v", ps, err)
	}
	if me, err := a.Me(ctx, company); err != nil || me.Device != a.DeviceID() {
		t.Errorf("%+v, %v", me, err)
	}
}

// Nothing of one company is seen, taken or found from another.
func TestCompaniesApart(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a := w.join(1, jobs.Supervisor)
	a.importHouse()
	a.sync()
	foreign := storetest.Other
	if _, err := w.server.Job(ctx, foreign, jobID); !errors.Is(err, replica.ErrNoJob) {
		t.Errorf("job: %v", err)
	}
	if rows, err := w.server.Jobs(ctx, foreign); len(rows) != 0 || err != nil {
		t.Errorf("jobs: %+v, %v", rows, err)
	}
	if _, _, err := w.server.FindSheet(ctx, foreign, jobs.SheetCode(jobID, "C1")); !errors.Is(err, jobs.ErrNotFound) {
		t.Errorf("sheet: %v", err)
	}
	if p, err := w.server.PullFrom(ctx, foreign, a.id, replica.Cursor{}, 1<<20); err != nil || len(p.Acts) != 0 {
		t.Errorf("pull: %+v, %v", p, err)
	}
	a.record(note("x"))
	if _, err := w.server.Receive(ctx, foreign, a.net.pusher(), a.batch()); !errors.Is(err, replica.ErrBadFrame) {
		t.Errorf("push: %v", err)
	}
	if _, err := w.server.Record(ctx, foreign, a.author(), jobID, raws(note("x"))); !errors.Is(err, replica.ErrNoJob) {
		t.Errorf("record: %v", err)
	}
}
