package sim

import (
	"bytes"
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"slices"

	"tacet/jobs"
	"tacet/sync/replica"
)

// newer is a device with a program of a later version: what it writes is of kinds, versions and members that are not known here. It
// keeps all it wrote, and sends all of it each time.
type newer struct {
	id     string
	key    ed25519.PrivateKey
	person string
	run    int64
	ends   map[string]jobs.Entry // by job
	wrote  []jobs.Entry
}

func (w *world) joinNewer() *newer {
	n := &newer{id: w.id("d"), key: w.newKey(), person: w.id("b")}
	must(w.servers[0].Enlist(ctx, company, replica.Device{ID: n.id, Key: pub(n.key), Name: "of a later version", Person: n.person}), "enlist")
	return n
}

// later has the newer device write, and send what it wrote to a server.
func later(w *world, d *draws) {
	n, job := w.newer, w.job(d)
	w.met["a later version wrote"]++
	body, member := map[string]any{"salt": "AAAAAAAAAAAAAAAAAAAAAA", "says": w.word()}, map[string]any{}
	kind, kv := "note", 1
	switch d.upto(3) {
	case 0:
		kind = "thermal_camera"
	case 1:
		kv = 99
	default:
		body["text"], member["zone"] = "north", "of a later version"
	}
	n.write(w, job, kind, kv, body, member)
	_ = n.push(w, d.upto(2)) // what did not arrive is sent in the end
}

func (n *newer) write(w *world, job, kind string, kv int, body, member map[string]any) {
	data, err := jobs.Canonical(body)
	must(err, "write")
	end := n.ends[job]
	env := jobs.Envelope{V: 1, ID: w.id("f"), Co: company, Job: job, Dev: n.id, Seq: end.Seq + 1, Prev: end.Hash, Run: n.run + 1, Clk: jobs.Clock(0).Next(w.at()),
		By: n.person, Role: jobs.Site, Kind: kind, KV: kv, Body: jobs.HashBlob(data), Len: len(data)}
	loose, err := json.Marshal(env)
	must(err, "write")
	d := json.NewDecoder(bytes.NewReader(loose))
	d.UseNumber()
	var tree map[string]any
	must(d.Decode(&tree), "write")
	for k, v := range member {
		tree[k] = v
	}
	written, err := jobs.Canonical(tree)
	must(err, "write")
	e, err := jobs.ParseEntry(written, data)
	must(err, "read what a later version wrote")
	ends := map[string]jobs.Entry{job: e}
	for k, v := range n.ends {
		if k != job {
			ends[k] = v
		}
	}
	n.run, n.ends, n.wrote = n.run+1, ends, append(slices.Clone(n.wrote), e)
}

// push sends all that was written.
func (n *newer) push(w *world, server int) error {
	if len(n.wrote) == 0 {
		return nil
	}
	var b replica.Batch
	for _, e := range n.wrote {
		b.Entries = append(b.Entries, replica.Raw{Env: e.Env, Body: e.Data})
		if end := n.ends[e.Job]; end.Hash == e.Hash {
			s := replica.Seal{Co: company, Dev: n.id, Job: e.Job, Seq: e.Seq, H: e.Hash, Run: e.Run}
			must(s.Sign(n.key), "seal")
			b.Seals = append(b.Seals, s)
		}
	}
	who := replica.Pusher{Device: n.id, Key: pub(n.key), Persons: map[string]jobs.Role{n.person: jobs.Site}, Person: n.person, Role: jobs.Site}
	got, err := carried(b)
	must(err, "carry what a later version wrote")
	_, err = w.servers[server].Receive(ctx, company, who, got)
	if err != nil && !errors.Is(err, replica.ErrBusy) {
		must(err, "take what a later version wrote")
	}
	return err
}

// judgeNewer: what a later version wrote stands at the server and on each device, as it was written.
func (w *world) judgeNewer() {
	look := func(name string, s *told) {
		for _, e := range w.newer.wrote {
			kept := find(s, e.Hash)
			if !bytes.Equal(kept.Env, e.Env) || !bytes.Equal(kept.Data, e.Data) || kept.State != replica.Standing {
				fail("%s: entry %s of a later version is %q, and not as it was written", name, e.ID, kept.State)
			}
		}
	}
	look("the server", w.store)
	for _, d := range w.alive() {
		look(d.name, d.store)
	}
}

// find gives an entry, or an empty one where it is not there.
func find(s *told, h jobs.Hash) replica.Stored {
	return look(s, func(tx replica.Tx) (replica.Stored, error) {
		e, err := tx.Entry(h)
		if errors.Is(err, jobs.ErrNotFound) {
			return replica.Stored{}, nil
		}
		return e, err
	})
}
