package replica_test

import (
	"fmt"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
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
