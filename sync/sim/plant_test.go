package sim

import (
	"bytes"
	"context"
	"reflect"

	"tacet/jobs"
	"tacet/sync/replica"
)

// plants are faults that are put into a schedule on purpose: each takes one protection away, around the store, on the wire or
// in what people do after a restore. None of it is in a program. The judge has to find each, by the sign that is meant: what it
// complains of where just this protection is missing. A plant that is found by another sign only is not found.
var plants = []struct{ name, sign string }{
	{"answered before the commit", hasNot},
	{"no look for duplicates", "another entry already stands at this place of the lane"},
	{"positions from a counter beside the transaction", "of the log where"},
	{"cursor without its head", "the log's chain does not lead to the cursor"},
	{"cursor saved before its entries", "entries stand here,"},
	{"clocks judge references", "is another than at the server"},
	{"digest by exclusive or", "entries stand here,"},
	{"duplicates counted into positions", "of the log where"},
	{"photo row before its file", "which is said to be here: not found"},
	{"a restored device keeps its id", "of its lane twice"},
	{"a restored server keeps its id", "of its lane twice"},
	{"revocation not looked up", "of a revoked device stands"},
	{"held text handed on", "can read what is held of another"},
	{"bytes written anew on the way", "an entry's bytes are not in their one form"},
	{"a release that looks at nothing", "is shown other than its entries say"},
	{"clocks merged without bound", "the server's clock was dragged"},
	{"what was issued again beside its original", "is another than at the server"},
	{"a receipt of anything taken", hasNot},
	{"nothing is offered", "is nowhere at the server"},
	{"the device's number is not moved on", "entries before these have not arrived"},
	{"back-fill one short of the grant", "entries stand here,"},
	{"a standby takes what is sent", hasNot},
	{"a standby says that the server went back", wentBack},
	{"a push of what is known commits nothing", hasNot},
	{"what the server has is told without a commit", hasNot},
}

// Signs that several judges and plants share.
const (
	hasNot   = "and the server has never had it"
	wentBack = "began anew, and the server never went back"
)

// planted wraps the store of a server.
func (w *world) planted(s replica.Store) replica.Store {
	switch w.plant {
	case "no look for duplicates", "digest by exclusive or", "revocation not looked up", "the device's number is not moved on", "duplicates counted into positions",
		"positions from a counter beside the transaction", "clocks merged without bound",
		"a push of what is known commits nothing", "what the server has is told without a commit":
		return &wrong{Store: s, plant: w.plant, sid: w.sid, counter: &w.counter}
	}
	return s
}

// plantedFold wraps the store of a device: one of them shows something else than the others.
func (d *device) plantedFold() replica.Store {
	switch d.w.plant {
	case "clocks judge references", "a release that looks at nothing", "what was issued again beside its original":
		return &wrong{Store: d.store, plant: d.w.plant, counter: &d.w.counter}
	}
	return d.store
}

type wrong struct {
	replica.Store
	plant, sid string
	counter    *int64
}

func (s *wrong) Write(ctx context.Context, co string, f func(replica.Tx) error) error {
	return s.Store.Write(ctx, co, func(tx replica.Tx) error { return f(&wrongTx{Tx: tx, s: s}) })
}

func (s *wrong) Read(ctx context.Context, co string, f func(replica.Tx) error) error {
	return s.Store.Read(ctx, co, func(tx replica.Tx) error { return f(&wrongTx{Tx: tx, s: s}) })
}

type wrongTx struct {
	replica.Tx
	s     *wrong
	twice int  // entries of this transaction that were there
	asked bool // whether any were
	fresh bool // something new is given a place
	lanes bool // what is here of a device was looked up
}

// again tells whether a push of what is known leaves out what it would write once more.
func (t *wrongTx) again() bool {
	return t.s.plant == "a push of what is known commits nothing" && t.twice > 0 && !t.fresh
}

// silent tells whether a transaction that has nothing new leaves out what it writes about a device: the same as stands there.
func (t *wrongTx) silent(d replica.Device) bool {
	switch t.s.plant {
	case "a push of what is known commits nothing":
		if !t.again() {
			return false
		}
	case "what the server has is told without a commit":
		if !t.lanes || t.asked {
			return false
		}
	default:
		return false
	}
	had, err := t.Tx.Device(d.ID)
	return err == nil && reflect.DeepEqual(had, d)
}

func (t *wrongTx) Insert(list []replica.Stored) error {
	t.fresh = t.fresh || len(list) > 0
	if t.again() {
		return nil
	}
	return t.Tx.Insert(list)
}

// PutSeals leaves out those that have their receipts.
func (t *wrongTx) PutSeals(list []replica.Seal) error {
	if t.again() {
		var fresh []replica.Seal
		for _, s := range list {
			if had, err := t.Tx.SealAt(s.Dev, s.Job, s.Seq); err != nil || had.Receipt == nil {
				fresh = append(fresh, s)
			}
		}
		if list = fresh; len(list) == 0 {
			return nil
		}
	}
	return t.Tx.PutSeals(list)
}

func (t *wrongTx) LanesOf(dev string) ([]replica.LaneHead, error) {
	t.lanes = true
	return t.Tx.LanesOf(dev)
}

func (t *wrongTx) Known(ids []string) (map[string]replica.Known, error) {
	if t.s.plant == "no look for duplicates" {
		return nil, nil
	}
	known, err := t.Tx.Known(ids)
	t.asked = true
	t.twice = len(known)
	return known, err
}

func (t *wrongTx) Seq() (replica.Seq, error) {
	s, err := t.Tx.Seq()
	if t.s.plant == "positions from a counter beside the transaction" {
		*t.s.counter = max(*t.s.counter, s.N)
		s.N = *t.s.counter
	}
	return s, err
}

func (t *wrongTx) SetSeq(s replica.Seq) error {
	if t.s.plant == "duplicates counted into positions" {
		s.N += int64(t.twice)
	}
	*t.s.counter = max(*t.s.counter, s.N)
	if had, err := t.Tx.Seq(); err == nil && had == s && t.again() {
		return nil
	}
	return t.Tx.SetSeq(s)
}

func (t *wrongTx) Log(acts []replica.Act) error {
	for _, a := range acts {
		*t.s.counter = max(*t.s.counter, a.N)
	}
	if len(acts) == 0 && t.again() {
		return nil
	}
	return t.Tx.Log(acts)
}

func (t *wrongTx) Device(dev string) (replica.Device, error) {
	d, err := t.Tx.Device(dev)
	if t.s.plant == "revocation not looked up" {
		d.Revoked = 0
	}
	return d, err
}

func (t *wrongTx) PutDevice(d replica.Device) error {
	switch {
	case t.silent(d):
		return nil
	case t.s.plant == "the device's number is not moved on":
		if had, err := t.Tx.Device(d.ID); err == nil {
			d.NextRun = had.NextRun
		}
	case t.s.plant == "clocks merged without bound" && d.ID == t.s.sid:
		for _, job := range jobIDs {
			list, err := t.Entries(job, 0)
			if err != nil {
				return err
			}
			for _, e := range list {
				d.Clk = max(d.Clk, e.Clk)
			}
		}
	}
	return t.Tx.PutDevice(d)
}

func (t *wrongTx) SetMark(m replica.Mark) error {
	if t.s.plant == "digest by exclusive or" {
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

// Entries shows the fold other envelopes than there are.
func (t *wrongTx) Entries(job string, after int64) ([]replica.Stored, error) {
	list, err := t.Tx.Entries(job, after)
	if err != nil {
		return nil, err
	}
	switch t.s.plant {
	case "what was issued again beside its original":
		for i := range list {
			list[i].Was = jobs.Hash{}
		}
	case "clocks judge references":
		for i, e := range list {
			list[i].Refs = nil
			for _, ref := range e.Refs {
				old, err := t.Tx.Entry(ref.H)
				if ref.As == jobs.Sees || err != nil || old.Clk < e.Clk {
					list[i].Refs = append(list[i].Refs, ref)
				}
			}
		}
	case "a release that looks at nothing":
		for i, e := range list {
			if e.Kind != "release" {
				continue
			}
			for _, o := range list {
				if o.Kind == "check" {
					list[i].Refs = append(list[i].Refs[:len(list[i].Refs):len(list[i].Refs)], jobs.Ref{H: o.Hash, As: jobs.Sees})
				}
			}
		}
	}
	return list, nil
}

// plantCursor makes a server believe every cursor that is not beyond its log.
func (w *world) plantCursor(c replica.Cursor) replica.Cursor {
	if w.plant == "cursor without its head" && c.N > 0 && c.N <= w.store.end().N {
		c.Head = look(w.store, func(tx replica.Tx) (jobs.Hash, error) { return tx.HeadAt(c.N) })
	}
	return c
}

// plantPage changes what a server gives out.
func (w *world) plantPage(p *replica.Page) {
	for i := range p.Acts {
		a := &p.Acts[i]
		switch {
		case w.plant == "held text handed on" && a.Body == nil:
			a.Body = look(w.store, func(tx replica.Tx) (replica.Stored, error) { return tx.Entry(a.H) }).Data
		case w.plant == "bytes written anew on the way" && bytes.Contains(a.Env, []byte(`"kind":"note"`)):
			a.Env = bytes.Replace(a.Env, []byte(`"kind":"note"`), []byte(`"kind": "note"`), 1)
		}
	}
}

// plantReceipts is a device that takes any signature of the server for a receipt: where the answer is lost, it holds all of the
// batch as sent.
func (w *world) plantReceipts(b replica.Batch, a replica.Answer, err error) (replica.Answer, error) {
	if w.plant != "a receipt of anything taken" || err == nil {
		return a, err
	}
	for _, s := range b.Seals {
		r := replica.Receipt{Co: s.Co, Epoch: w.store.end().Epoch, N: 1, Dev: s.Dev, Job: s.Job, Seq: s.Seq, H: s.H, At: 1}
		must(r.Sign(w.key), "plant")
		a.Receipts = append(a.Receipts, r)
	}
	return a, nil
}

// skipAhead saves the cursor of a pull whose entries were not saved.
func (w *world) skipAhead(d *device) {
	end := w.store.end()
	must(d.store.on.Write(ctx, company, func(tx replica.Tx) error {
		me, err := tx.Me()
		if err != nil {
			return err
		}
		me.Cursor = replica.Cursor{Epoch: end.Epoch, N: end.N, Head: end.Head}
		if err := me.Cursor.Sign(company, w.key); err != nil {
			return err
		}
		return tx.PutMe(me)
	}), "plant")
}
