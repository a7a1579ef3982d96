package replica_test

import (
	"fmt"
	"strings"
	"testing"
	"unicode"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// foreign is a program of another make that has the key of a device: it writes into the lane of the job what it likes.
type foreign struct {
	*device
	ends jobs.Entry
}

// send brings the server one entry with that body, and gives what became of it.
func (f *foreign) send(env jobs.Envelope, body map[string]any, key []byte) (jobs.Entry, replica.State) {
	f.t.Helper()
	data, err := jobs.Canonical(body)
	if err != nil {
		f.t.Fatal(err)
	}
	env.Seq, env.Run, env.Prev = f.ends.Seq+1, f.ends.Seq+1, f.ends.Hash
	env.ID, env.Co, env.Job, env.Dev, env.Clk = fmt.Sprintf("%08x-0000-7000-8000-%s", env.Seq, f.id[24:]), company, jobID, f.id, jobs.ClockAt(f.at())
	env.By, env.Role = f.me.Person, f.me.Role
	e, err := jobs.NewEntry(env, data)
	if err != nil {
		f.t.Fatal(err)
	}
	b := replica.Batch{Entries: []replica.Raw{{Env: e.Env, Body: e.Data, Key: key}}, Seals: []replica.Seal{f.sealOn(e)}}
	a, err := f.server.Receive(ctx, company, f.net.pusher(), b)
	if err != nil {
		f.t.Fatalf("%s: %v", e.Env, err)
	}
	f.ends = e
	return e, a.Verdicts[0].State
}

// What no rule can read stands under no supervisor's word, whichever records the body of that word speaks of: the log acts on the hashes
// that its envelope names.
func TestNobodyAdmitsWhatCanNotBeRead(t *testing.T) {
	onEach(t, func(t *testing.T, w *world) {
		a, site := w.join(1, jobs.Supervisor), &foreign{device: w.join(2, jobs.Site)}
		a.importHouse()
		a.sync()
		far, state := site.send(jobs.Envelope{Kind: "install", KV: 1, On: jobs.On{Surface: "C1", Layer: 2}}, map[string]any{"share": "1000000"}, nil)
		if state != replica.Held {
			t.Fatalf("a share of a million: %s", state)
		}
		sup := &foreign{device: w.join(3, jobs.Supervisor)}
		_, state = sup.send(jobs.Envelope{Kind: "admission", KV: 1, Refs: []jobs.Ref{{H: far.Hash, As: jobs.Sees}}},
			map[string]any{"on": []any{a.id}, "answer": "admit", "reason": "looked at"}, nil)
		a.sync()
		j, err := a.Job(ctx, company, jobID)
		if err != nil {
			t.Fatal(err)
		}
		if j.ByHash(far.Hash) != nil {
			t.Errorf("the admission is %s, and a share of a million stands", state)
		}
	})
}

// What another program writes is taken by one kind of store as by the other, whatever letters are in it: the reason for which it is held
// repeats some of them.
func TestAnyTextIsKept(t *testing.T) {
	onEach(t, func(t *testing.T, w *world) {
		a, f := w.join(1, jobs.Supervisor), &foreign{device: w.join(2, jobs.Site)}
		a.importHouse()
		a.sync()
		held := 0
		for _, odd := range []string{"\x00", "a\x00b", "\x1b[2J", "\x7f", "\u0085", "\u2028", "\ufeff", "e\u0301", "\u00e9", "\U0010ffff", " a ", strings.Repeat("\"", 5000)} {
			for _, c := range []struct {
				env  jobs.Envelope
				body map[string]any
			}{
				{jobs.Envelope{Kind: "later"}, map[string]any{"odd": odd}},
				{jobs.Envelope{Kind: "note"}, map[string]any{"text": odd}},
				{jobs.Envelope{Kind: "install", On: jobs.On{Surface: "C1", Layer: 1}}, map[string]any{"share": odd}},
				{jobs.Envelope{Kind: "check", On: jobs.On{Surface: "C1", Layer: 1, Check: "K23"}}, map[string]any{"result": odd, "measured": map[string]any{"x": odd}}},
				{jobs.Envelope{Kind: "specify", On: jobs.On{Surface: "C1"}}, map[string]any{"layers": []any{map[string]any{"kind": odd}}}},
				{jobs.Envelope{Kind: "job"}, map[string]any{"name": odd, "targets": []any{map[string]any{"quantity": odd, "value_db": odd}}}},
				{jobs.Envelope{Kind: "target_set"}, map[string]any{"id": odd}},
			} {
				c.env.KV = max(1, jobs.KindVersion(c.env.Kind))
				if _, state := f.send(c.env, c.body, nil); state == replica.Held {
					held++
				}
			}
		}
		if held < 60 {
			t.Errorf("%d are held: the others say nothing of reasons", held)
		}
		a.sync()
		err := a.store.Read(ctx, company, func(tx replica.Tx) error {
			list, err := tx.Entries(jobID, 0)
			for _, e := range list {
				if strings.ContainsFunc(e.Says, unicode.IsControl) || len(e.Says) > 2000 {
					t.Errorf("held because %.80q", e.Says)
				}
			}
			return err
		})
		if err != nil || a.settled() != w.settled() {
			t.Errorf("device and server hold different jobs, %v", err)
		}
		agree(t, w, a)
	})
}

// After a server went back to a backup that does not know a device, somebody else can't bring what that device wrote under a key of their own:
// the device would be shut out, and whoever knows its key would read nothing more.
func TestNobodyGivesADeviceAnotherKey(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	bad, b := w.join(2, jobs.Site), w.join(3, jobs.Site)
	b.importHouse()
	b.sync()
	backup := backUp(t, w.store)
	a := w.join(1, jobs.Supervisor)
	a.sync()
	a.record(note("on the new tablet"))
	a.sync()
	bad.sync()
	b.sync()
	w.restore(backup)
	var batch replica.Batch
	err := bad.store.Read(ctx, company, func(tx replica.Tx) error {
		list, err := tx.From(a.id, 1)
		if err != nil {
			return err
		}
		for _, s := range list {
			batch.Entries = append(batch.Entries, replica.Raw{Env: s.Env, Body: s.Data, Key: s.Key})
		}
		seal, err := tx.SealAt(a.id, jobID, int64(len(list)))
		if err != nil {
			return err
		}
		known, err := tx.Device(a.id)
		if err != nil || known.KeySig == nil {
			t.Fatalf("the server's word on the key is not kept: %v", err)
		}
		own := w.newKey()
		batch.Devices = []replica.DeviceKey{{Dev: a.id, Key: pub(own), Sig: known.KeySig}}
		err = seal.Sign(own)
		batch.Seals = []replica.Seal{seal}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, word := range [][]byte{batch.Devices[0].Sig, nil} {
		batch.Devices[0].Sig = word
		if a, err := w.server.TakeOffer(ctx, company, bad.id, batch); err != nil || len(a.Verdicts) > 0 {
			t.Errorf("what another device wrote is taken under a key that is not its own: %+v, %v", a.Verdicts, err)
		}
	}
	// Who has it as the server named it gives it back, and the device goes on with its key.
	b.sync()
	d, err := w.server.Device(ctx, company, a.id)
	if err != nil || !d.Key.Equal(pub(a.key)) || d.NextRun != 2 {
		t.Errorf("given back by another: %+v, %v", d, err)
	}
	a.record(note("and goes on"))
	for _, d := range []*device{a, b} {
		for range 2 {
			if _, err := d.Sync(ctx, d.net); err != nil {
				t.Errorf("%s: %v", d.id, err)
			}
		}
	}
}
