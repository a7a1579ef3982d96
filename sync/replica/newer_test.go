package replica_test

import (
	"bytes"
	"encoding/json"
	"maps"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// newer is a device with a program of a later version: it writes what this one does not know, in the lane of d.
type newer struct {
	*device
	last jobs.Entry
	run  int64
}

// writes makes the next entry, its body and its envelope changed as a later version may have them.
func (n *newer) writes(kind string, kv int, body map[string]any, inEnvelope map[string]any) replica.Raw {
	n.t.Helper()
	text := func(v any) []byte {
		data, err := jobs.Canonical(v)
		if err != nil {
			n.t.Fatal(err)
		}
		return data
	}
	data := text(body)
	seq, prev := n.last.Seq+1, n.last.Hash
	n.run++
	env := jobs.Envelope{V: 1, ID: n.world.id("f", int(n.run)), Co: company, Job: jobID, Dev: n.device.id, Seq: seq, Prev: prev, Run: n.run, Clk: n.last.Clk + 1, By: n.me.Person, Role: n.me.Role,
		Kind: kind, KV: kv, Body: jobs.HashBlob(data), Len: len(data)}
	loose, err := json.Marshal(env)
	if err != nil {
		n.t.Fatal(err)
	}
	d := json.NewDecoder(bytes.NewReader(loose))
	d.UseNumber()
	var tree map[string]any
	if err := d.Decode(&tree); err != nil {
		n.t.Fatal(err)
	}
	maps.Copy(tree, inEnvelope)
	raw := replica.Raw{Env: text(tree), Body: data}
	n.last = jobs.Entry{Envelope: env, Hash: jobs.HashEnvelope(raw.Env)}
	return raw
}

// What a later version writes goes through this one, server and device, byte for byte: kinds, versions of kinds, and members of body
// and envelope that are not known here. A device of this version gives it back when the server has lost it, and the newer one
// gets it as it was written.
func TestNewerEntriesComeBackByteForByte(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a, b := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
	a.importHouse()
	a.sync()
	before := backUp(t, w.store)
	n := &newer{device: b, run: 0}
	salt := "AAAAAAAAAAAAAAAAAAAAAA"
	all := []replica.Raw{
		n.writes("thermal_camera", 1, map[string]any{"salt": salt, "warm": []any{"1.5", true, nil}}, nil),
		n.writes("note", 99, map[string]any{"salt": salt, "words": "of a later version"}, nil),
		n.writes("note", 1, map[string]any{"salt": salt, "text": "with more than is known", "mood": "calm"}, nil),
		n.writes("note", 1, map[string]any{"salt": salt, "text": "in an envelope of a later version"}, map[string]any{"aside": map[string]any{"of": json.Number("2")}, "zone": "north"}),
	}
	seal := n.sealOn(n.last)
	ans, err := b.net.Push(ctx, replica.Batch{Entries: all, Seals: []replica.Seal{seal}})
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range ans.Verdicts {
		if v.State != replica.Standing {
			t.Errorf("entry %d is %s: %s", i+1, v.State, v.Says)
		}
	}
	// as it was written, wherever it lies
	same := func(where string, s replica.Store) {
		t.Helper()
		rows, err := storetest.ReadRows(ctx, s, company)
		if err != nil {
			t.Fatal(err)
		}
		for i, raw := range all {
			e, ok := rows.Entries[jobs.HashEnvelope(raw.Env)]
			if !ok || !bytes.Equal(e.Env, raw.Env) || !bytes.Equal(e.Data, raw.Body) {
				t.Errorf("%s: entry %d is there %v, as it was written %v", where, i+1, ok, bytes.Equal(e.Env, raw.Env) && bytes.Equal(e.Data, raw.Body))
			}
		}
	}
	same("at the server", w.store)
	a.sync()
	same("on the supervisor's device", a.store)
	if j, err := a.Job(ctx, company, jobID); err != nil || j.Unread == 0 {
		t.Errorf("what is not understood is not counted: %v", err)
	}
	w.restore(before)
	if err := w.server.NewEpoch(ctx, company, "restored"); err != nil {
		t.Fatal(err)
	}
	a.sync()
	a.sync()
	same("at the server, given back", w.store)
	c := w.join(3, jobs.Site)
	c.sync()
	same("on a device that comes late", c.store)
	if c.settled() != a.settled() || c.settled() != w.settled() {
		t.Error("the replicas hold different jobs")
	}
}
