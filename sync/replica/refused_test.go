package replica_test

import (
	"errors"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// batch makes what the device would send.
func (d *device) batch() replica.Batch {
	d.t.Helper()
	var b replica.Batch
	err := d.store.Read(ctx, company, func(tx replica.Tx) error {
		list, err := tx.Outbox(replica.MaxBatch, replica.MaxBatchBytes)
		for _, s := range list {
			b.Entries = append(b.Entries, replica.Raw{Env: s.Env, Body: s.Data, Key: s.Key})
		}
		b.Seals = []replica.Seal{d.sealOn(list[len(list)-1].Entry)}
		return err
	})
	if err != nil {
		d.t.Fatal(err)
	}
	return b
}

func (d *device) sealOn(e jobs.Entry) replica.Seal {
	d.t.Helper()
	s := replica.Seal{Co: e.Co, Dev: e.Dev, Job: e.Job, Seq: e.Seq, H: e.Hash, Run: e.Run}
	if err := s.Sign(d.key); err != nil {
		d.t.Fatal(err)
	}
	return s
}

// again writes an entry anew with something changed, sealed by the device.
func (d *device) again(e jobs.Entry, change func(*jobs.Envelope)) replica.Batch {
	d.t.Helper()
	env := e.Envelope
	change(&env)
	other, err := jobs.NewEntry(env, e.Data)
	if err != nil {
		d.t.Fatal(err)
	}
	return replica.Batch{Entries: []replica.Raw{{Env: other.Env, Body: other.Data, Key: other.Key}}, Seals: []replica.Seal{d.sealOn(other)}}
}

// What is not right about chain, seal or device is refused as a whole, with its own name, and nothing is kept.
func TestWhatIsRefused(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a := w.join(1, jobs.Supervisor)
	a.importHouse()
	a.sync()
	last := a.record(note("last"))[0]
	next := func(change func(*jobs.Envelope)) replica.Batch { return a.again(last, change) }
	good := a.batch()
	for name, c := range map[string]struct {
		batch replica.Batch
		who   func(*replica.Pusher)
		want  error
	}{
		"nothing":           {batch: replica.Batch{}, want: replica.ErrBadFrame},
		"no seal":           {batch: replica.Batch{Entries: good.Entries}, want: replica.ErrBadSeal},
		"another key":       {batch: good, who: func(p *replica.Pusher) { p.Key = pub(w.newKey()) }, want: replica.ErrBadSeal},
		"another device":    {batch: good, who: func(p *replica.Pusher) { p.Device = w.id("d", 9) }, want: replica.ErrBadFrame},
		"a body too few":    {batch: replica.Batch{Entries: []replica.Raw{{Env: good.Entries[0].Env}}, Seals: good.Seals}, want: replica.ErrBadFrame},
		"another body":      {batch: replica.Batch{Entries: []replica.Raw{{Env: good.Entries[0].Env, Body: []byte(`{"a":1}`)}}, Seals: good.Seals}, want: replica.ErrBadHash},
		"spaces":            {batch: replica.Batch{Entries: []replica.Raw{{Env: append([]byte(" "), good.Entries[0].Env...), Body: good.Entries[0].Body}}, Seals: good.Seals}, want: replica.ErrNotCanonical},
		"a number too high": {batch: next(func(e *jobs.Envelope) { e.Run++ }), want: replica.ErrExpectedRun},
		"a number twice":    {batch: next(func(e *jobs.Envelope) { e.Job, e.Seq, e.Prev, e.Run = w.id("a", 2), 1, jobs.Hash{}, 3 }), want: replica.ErrRunForked},
		"a place too far":   {batch: next(func(e *jobs.Envelope) { e.Seq++; e.Run++ }), want: replica.ErrExpectedRun},
		"a place twice":     {batch: next(func(e *jobs.Envelope) { e.Seq-- }), want: replica.ErrLaneForked},
		"another before it": {batch: next(func(e *jobs.Envelope) { e.Prev = jobs.Hash{7} }), want: replica.ErrChain},
	} {
		t.Run(name, func(t *testing.T) {
			who := a.net.pusher()
			if c.who != nil {
				c.who(&who)
			}
			if _, err := w.server.Receive(ctx, company, who, c.batch); !errors.Is(err, c.want) {
				t.Errorf("got %v, want %v", err, c.want)
			}
			if acts, err := w.server.VerifyLog(ctx, company); acts != 3 || err != nil {
				t.Errorf("%d acts, %v", acts, err)
			}
		})
	}
	t.Run("same id, other bytes", func(t *testing.T) {
		a.sync()
		_, err := w.server.Receive(ctx, company, a.net.pusher(), next(func(e *jobs.Envelope) { e.Off = 5 }))
		if !errors.Is(err, replica.ErrEntryDiffers) {
			t.Errorf("got %v", err)
		}
	})
	t.Run("revoked", func(t *testing.T) {
		if err := w.server.Revoke(ctx, company, a.id); err != nil {
			t.Fatal(err)
		}
		a.record(note("after"))
		rep, err := a.Sync(ctx, a.net)
		if !errors.Is(err, replica.ErrRevoked) || rep.Waiting != 1 {
			t.Errorf("%+v, %v", rep, err)
		}
		if _, err := a.Pull(ctx, a.net); !errors.Is(err, replica.ErrRevoked) {
			t.Errorf("a revoked device may pull: %v", err)
		}
	})
}

// A rule says no: the entry is held, its lane goes on, others see that something waits and not what.
func TestHeld(t *testing.T) {
	onEach(t, func(t *testing.T, w *world) {
		a, b := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
		a.importHouse()
		a.sync()
		b.sync()
		b.record(note("by nobody of this company"), note("by b"))
		b.net.persons = map[string]jobs.Role{b.me.Person: jobs.Office}
		if rep := b.sync(); rep.Sent != 2 || rep.Held != 2 {
			t.Fatalf("%+v", rep)
		}
		b.net.persons = nil
		b.record(note("by b again"))
		if rep := b.sync(); rep.Sent != 1 || rep.Held != 2 {
			t.Fatalf("%+v", rep)
		}
		a.sync()
		j, err := a.Job(ctx, company, jobID)
		if out := export(t, j, err); strings.Contains(out, "by nobody") || !strings.Contains(out, "by b again") {
			t.Errorf("a sees %s", out)
		}
		rows, err := a.Jobs(ctx, company)
		if err != nil || rows[0].Held != 2 || rows[0].Entries != 6 {
			t.Errorf("%+v, %v", rows, err)
		}
		if p, err := a.Prove(ctx, company, jobID); err != nil || p.NoBody != 2 {
			t.Errorf("proof at a: %+v, %v", p, err)
		}
		if p, err := b.Prove(ctx, company, jobID); err != nil || p.NoBody != 0 {
			t.Errorf("proof at b: %+v, %v", p, err)
		}
		if a.settled() != b.settled() || a.settled() != w.settled() {
			t.Error("the replicas hold different jobs")
		}
	})
}

// On a tablet that two people share, one can't speak for the supervisor while the other is signed in.
func TestSharedTabletDoesNotRule(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a := w.join(1, jobs.Supervisor)
	a.importHouse()
	a.record(`{"do":"install","surface":"C1","layer":2,"share":1,"by":"Idris"}`, `{"do":"audit","surface":"C1","layer":2,"answer":"cover"}`)
	site := w.id("b", 7)
	who := a.net.pusher()
	who.Persons[site] = jobs.Site
	who.Person, who.Role = site, jobs.Site
	ans, err := w.server.Receive(ctx, company, who, a.batch())
	if err != nil {
		t.Fatal(err)
	}
	if ans.Held() != 1 || ans.Verdicts[4].State != replica.Held || ans.Verdicts[4].Says == "" {
		t.Errorf("%+v", ans.Verdicts)
	}
}

// A server that signs with another key, or a page that was changed on its way, is not believed.
func TestNotByTheServer(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a, b := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
	a.importHouse()
	a.sync()
	b.net.cut = func(p []byte) []byte { return []byte(strings.Replace(string(p), `"act":"stand"`, `"act":"hold"`, 1)) }
	if _, err := b.Pull(ctx, b.net); !errors.Is(err, replica.ErrReceipt) {
		t.Errorf("an act was changed: %v", err)
	}
	b.net.cut = func(p []byte) []byte { return p[:len(p)-20] }
	if _, err := b.Pull(ctx, b.net); !errors.Is(err, replica.ErrUnreachable) {
		t.Errorf("a page was cut: %v", err)
	}
	b.net.cut = nil
	w.key = w.newKey()
	w.server = replica.New(replica.Config{Store: w.store, Blobs: a.dir, Device: w.id("e", 1), Key: w.key, Now: w.at, Rand: w.rand})
	if _, err := b.Pull(ctx, b.net); !errors.Is(err, replica.ErrReceipt) {
		t.Errorf("another server: %v", err)
	}
	a.record(note("x"))
	if rep, err := a.Sync(ctx, a.net); !errors.Is(err, replica.ErrReceipt) || rep.Waiting != 1 {
		t.Errorf("another server's receipt counts: %+v, %v", rep, err)
	}
}
