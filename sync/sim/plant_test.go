package sim

import (
	"bytes"
	"context"

	"tacet/jobs"
	"tacet/sync/replica"
)

// plants are faults that can be put into a schedule: around the store, the wire and what people do after a restore. None of
// it is in a program. The judge has to find each. Others can be put in by name and are not found within 300 schedules yet: "no
// look for duplicates", "a restored device keeps its id", "a restored server keeps its id", "nothing is offered".
var plants = []string{
	"answered before the commit",
	"cursor without its head",
	"cursor saved before its entries",
	"digest by exclusive or",
	"photo row before its file",
	"revocation not looked up",
	"held text handed on",
	"bytes written anew on the way",
	"the device's number is not moved on",
}

// planted wraps the store of the servers.
func (w *world) planted(m *memory) replica.Store {
	switch w.plant {
	case "no look for duplicates", "digest by exclusive or", "revocation not looked up", "the device's number is not moved on":
		return &wrong{memory: m, plant: w.plant}
	}
	return m
}

type wrong struct {
	*memory
	plant string
}

func (s *wrong) Write(ctx context.Context, co string, f func(replica.Tx) error) error {
	return s.memory.Write(ctx, co, func(tx replica.Tx) error { return f(&wrongTx{Tx: tx, plant: s.plant}) })
}

func (s *wrong) Read(ctx context.Context, co string, f func(replica.Tx) error) error {
	return s.memory.Read(ctx, co, func(tx replica.Tx) error { return f(&wrongTx{Tx: tx, plant: s.plant}) })
}

type wrongTx struct {
	replica.Tx
	plant string
}

func (t *wrongTx) Known(ids []string) (map[string]replica.Known, error) {
	if t.plant == "no look for duplicates" {
		return nil, nil
	}
	return t.Tx.Known(ids)
}

func (t *wrongTx) Device(dev string) (replica.Device, error) {
	d, err := t.Tx.Device(dev)
	if t.plant == "revocation not looked up" {
		d.Revoked = 0
	}
	return d, err
}

func (t *wrongTx) PutDevice(d replica.Device) error {
	if had, err := t.Tx.Device(d.ID); err == nil && t.plant == "the device's number is not moved on" {
		d.NextRun = had.NextRun
	}
	return t.Tx.PutDevice(d)
}

func (t *wrongTx) SetMark(m replica.Mark) error {
	if t.plant == "digest by exclusive or" {
		list, err := t.Entries(m.Job, 0)
		if err != nil {
			return err
		}
		m.Sum = jobs.Hash{}
		for _, e := range list {
			for i := range m.Sum {
				if e.State == replica.Standing {
					m.Sum[i] ^= e.Hash[i]
				}
			}
		}
	}
	return t.Tx.SetMark(m)
}

// plantCursor makes a server believe every cursor that is not beyond its log.
func (w *world) plantCursor(c replica.Cursor) replica.Cursor {
	s := w.store.cos[company]
	if w.plant == "cursor without its head" && c.N > 0 && c.N <= int64(len(s.acts)) {
		c.Head = s.acts[c.N-1].Head
	}
	return c
}

// plantPage changes what a server gives out.
func (w *world) plantPage(p *replica.Page) {
	for i := range p.Acts {
		a := &p.Acts[i]
		switch {
		case w.plant == "held text handed on" && a.Body == nil:
			a.Body = w.store.cos[company].entries[a.H].Data
		case w.plant == "bytes written anew on the way" && bytes.Contains(a.Env, []byte(`"kind":"note"`)):
			a.Env = bytes.Replace(a.Env, []byte(`"kind":"note"`), []byte(`"kind": "note"`), 1)
		}
	}
}
