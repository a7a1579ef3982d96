package replica

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"slices"
	"time"

	"tacet/jobs"
)

// Pull reads the company's log from where this home has it, page by page. A page is applied whole, entries and cursor in
// one transaction, after all that is signed in it was verified.
func (r *Replica) Pull(ctx context.Context, t Transport) (Result, error) {
	var done Result
	me, err := r.home(ctx)
	if err != nil {
		return done, err
	}
	for {
		start := me.Cursor
		p, err := t.Pull(ctx, me.Cursor.asked(), r.spend(&r.pull))
		if err != nil {
			r.failed(&r.pull, err)
			return done, fmt.Errorf("pull: %w", err)
		}
		r.arrived(&r.pull, p.bytes(), true)
		n, err := r.apply(ctx, &me, p)
		done.Entries += n
		if errors.Is(err, errMoved) {
			if me, err = r.home(ctx); err != nil {
				return done, err
			}
			continue // go on where the other one is
		}
		if err != nil {
			return done, err
		}
		if !p.More {
			r.setAccess(p.Access)
			return done, nil
		}
		if me.Cursor.N == start.N {
			return done, refuse(ErrBadFrame, "a page without acts says that more follows")
		}
	}
}

// errMoved is another process of this home that has pulled meanwhile.
var errMoved = errors.New("the cursor has moved")

// apply checks a page and saves it. It moves me on.
func (r *Replica) apply(ctx context.Context, me *Me, p Page) (received int, err error) {
	es, err := checkPage(*me, p)
	if err != nil {
		return 0, err
	}
	if err := checkPageSeals(*me, p); err != nil {
		return 0, err
	}
	own, _ := r.identity()
	err = r.store.Write(ctx, me.Company, func(tx Tx) error {
		now, err := tx.Me()
		if err != nil {
			return err
		}
		if now.Cursor.Epoch != me.Cursor.Epoch || now.Cursor.N != me.Cursor.N {
			return errMoved
		}
		if now.Cursor.N > 0 && now.Cursor.N < p.Cursor.N {
			now.Ladder = climb(now.Ladder, Rung{now.Cursor.N, now.Cursor.Head})
			if err := tx.PutMe(now); err != nil {
				return err
			}
		}
		var seals []Seal
		if received, seals, err = r.enter(tx, me.Company, own, p, es, now.narrow() || p.Narrow); err != nil {
			return err
		}
		if now, err = tx.Me(); err != nil { // with the rungs that are left
			return err
		}
		if err := putDeviceKeys(tx, p.Devices); err != nil {
			return err
		}
		if err := tx.PutSeals(seals); err != nil {
			return err
		}
		now.noteGap(p)
		now.Cursor = p.Cursor
		if err := tx.PutMe(now); err != nil {
			return err
		}
		if err := r.noteTime(tx, p.Time); err != nil {
			return err
		}
		me.Cursor = p.Cursor
		if now.unsure(p) {
			return nil // they are compared once it is known what was left out, or is shown again
		}
		return sameDigests(tx, p.Digests)
	})
	return received, err
}

// checkPage recomputes the log's chain from the cursor that we have to the one that came, and reads the entries.
func checkPage(me Me, p Page) ([]jobs.Entry, error) {
	if !p.Cursor.Verify(me.Company, me.ServerKey) {
		return nil, refuse(ErrReceipt, "the cursor is not signed by the server")
	}
	n, head := me.Cursor.N, me.Cursor.Head
	es := make([]jobs.Entry, len(p.Acts))
	errs := make([]error, len(es))
	onAllCores(len(es), func(i int) { es[i], errs[i] = parse(p.Acts[i].Raw) })
	for i, a := range p.Acts {
		n++
		if a.N > n && p.Narrow && a.Before != nil {
			n, head = a.N, *a.Before // what stands between is not shown to this device; the server's signature is all there is
		}
		if a.N != n {
			return nil, refuse(ErrBadFrame, "act %d where %d follows", a.N, n)
		}
		if after(a.Act) == "" {
			return nil, fmt.Errorf("act %q of the log: %w", a.Act, ErrTooOld)
		}
		head = NextHead(head, n, a.Act, a.H)
		if errs[i] != nil {
			return nil, errs[i]
		}
		if e := es[i]; e.Hash != a.H || e.Co != me.Company || e.Job != a.Job {
			return nil, refuse(ErrBadHash, "act %d is about another entry", n)
		}
	}
	if p.Narrow && p.Cursor.N > n && !p.More {
		return es, nil
	}
	if p.Cursor.N != n || p.Cursor.Head != head {
		return nil, refuse(ErrReceipt, "the log's chain does not lead to the cursor")
	}
	return es, nil
}

// checkPageSeals checks a page's seals with the keys that the server names, and its word on each key where it gives one.
func checkPageSeals(me Me, p Page) error {
	keys := make(map[string]ed25519.PublicKey, len(p.Devices))
	for _, d := range p.Devices {
		if len(d.Sig) > 0 && !d.Verify(me.Company, me.ServerKey) {
			return refuse(ErrBadSeal, "the word on the key of device %s is not by the server", d.Dev)
		}
		keys[d.Dev] = d.Key
	}
	for _, s := range p.Seals {
		if s.Co != me.Company || !s.Verify(keys[s.Dev]) {
			return &Refusal{Err: ErrBadSeal, Job: s.Job, Seq: s.Seq}
		}
		if s.Receipt == nil || !s.Receipt.covers(s) || !s.Receipt.Verify(me.ServerKey) {
			return &Refusal{Err: ErrReceipt, Job: s.Job, Seq: s.Seq}
		}
	}
	return nil
}

// putDeviceKeys keeps the keys that a server names. A device has one for good.
func putDeviceKeys(tx Tx, named []DeviceKey) error {
	for _, k := range named {
		d, err := tx.Device(k.Dev)
		unknown := errors.Is(err, jobs.ErrNotFound)
		switch {
		case unknown:
			d = Device{ID: k.Dev, Key: k.Key, NextRun: 1}
		case err != nil:
			return err
		case !d.Key.Equal(k.Key):
			return refuse(ErrBadSeal, "the server names another key for device %s than before", k.Dev)
		}
		if !unknown && (len(k.Sig) == 0 || bytes.Equal(k.Sig, d.KeySig)) {
			continue
		}
		d.KeySig = k.Sig
		if err := tx.PutDevice(d); err != nil {
			return err
		}
	}
	return nil
}

// enter saves the acts of a page: what is new goes in, what is here moves to its new state. It gives the seals on what is here.
// Jobs that are here in part stay as they are: what is missing before it comes first.
func (r *Replica) enter(tx Tx, co, own string, p Page, es []jobs.Entry, narrow bool) (received int, seals []Seal, err error) {
	p, es, err = whole(tx, co, own, p, es, narrow)
	if err != nil {
		return 0, nil, err
	}
	received, err = r.save(tx, own, p, es)
	return received, p.Seals, err
}

func (r *Replica) save(tx Tx, own string, p Page, es []jobs.Entry) (received int, err error) {
	ids := make([]string, len(es))
	for i, e := range es {
		ids[i] = e.ID
	}
	known, err := tx.Known(ids)
	if err != nil {
		return 0, err
	}
	dev, key := r.identity()
	d, err := r.ownDevice(tx, dev, key)
	if err != nil {
		return 0, err
	}
	now := r.now()
	marks := map[string]*markChange{}
	var fresh []Stored
	var again int64 // the first position of an entry of which something else has become now
	place := map[string]int{}
	for i, a := range p.Acts {
		e, state := es[i], after(a.Act)
		m := marks[e.Job]
		if m == nil {
			m = &markChange{}
			marks[e.Job] = m
		}
		m.n = a.N
		d.Clk = merge(d.Clk, e.Clk, now)
		if at, ok := place[e.ID]; ok { // came earlier in this page
			m.move(fresh[at].State, state, e.Hash)
			fresh[at].State, fresh[at].N, fresh[at].Says = state, a.N, a.Says
			if fresh[at].Data == nil {
				fresh[at].Entry = e // held back at first, and then it came
			}
			continue
		}
		k, here := known[e.ID]
		switch {
		case here && k.H != e.Hash:
			return 0, &Refusal{Err: ErrEntryDiffers, Job: e.Job, Seq: e.Seq, H: k.H}
		case here:
			if k.N > 0 && k.N < a.N && (again == 0 || k.N < again) {
				again = k.N
			}
			if err := r.move(tx, e, k, state, a, m); err != nil {
				return 0, err
			}
			k.State, k.N = state, a.N
			known[e.ID] = k
		case e.Dev == own:
			// another program writes under this id: nothing could be recorded behind what it wrote
			return 0, &Refusal{Err: ErrLaneForked, Job: e.Job, Seq: e.Seq, H: e.Hash, Says: saysNotHere}
		default:
			m.move("", state, e.Hash)
			place[e.ID] = len(fresh)
			fresh = append(fresh, Stored{Entry: e, State: state, N: a.N, At: ms(now), Says: a.Says})
			received++
			if err := wantPhotos(tx, e); err != nil {
				return 0, err
			}
		}
	}
	if err := r.makeRoom(tx, &d, fresh, marks); err != nil {
		return 0, err
	}
	if err := tx.Insert(fresh); err != nil {
		return 0, err
	}
	for i, a := range p.Acts {
		if after(a.Act) != Standing {
			continue
		}
		gone, err := dropKeys(tx, es[i])
		if err != nil {
			return 0, err
		}
		marks[es[i].Job].refolds = marks[es[i].Job].refolds || gone
	}
	for job, m := range marks {
		if err := m.save(tx, job); err != nil {
			return 0, err
		}
	}
	if again > 0 {
		if err := cutLadder(tx, again); err != nil {
			return 0, err
		}
	}
	return received, tx.PutDevice(d)
}

func (r *Replica) move(tx Tx, e jobs.Entry, k Known, to State, a Act, m *markChange) error {
	if err := tx.SetState(e.Hash, to, a.N, a.Says); err != nil {
		return err
	}
	m.move(k.State, to, e.Hash)
	if to != Standing || e.Data == nil {
		return nil
	}
	// a body that was held back comes with the act that admits its entry
	if err := tx.SetBody(e.Hash, e.Data, e.Key); err != nil && !errors.Is(err, jobs.ErrNotFound) {
		return err
	}
	return nil
}

// markChange gathers what a page changes in a job's mark.
type markChange struct {
	n       int64
	add     []jobs.Hash
	take    []jobs.Hash
	refolds bool
}

func (m *markChange) move(from, to State, h jobs.Hash) {
	if from != Standing && to == Standing {
		m.add = append(m.add, h)
	}
	if from == Standing && to != Standing {
		m.take = append(m.take, h)
	}
	if from != "" && from != to && (visible(from) != visible(to) || from == Held || to == Held) {
		m.refolds = true
	}
}

func (m *markChange) save(tx Tx, job string) error {
	mark, err := tx.Mark(job)
	if err != nil {
		return err
	}
	mark.N = max(mark.N, m.n)
	if m.refolds {
		mark.Rev++
	}
	for _, h := range m.add {
		mark.Stands(h)
	}
	for _, h := range m.take {
		mark.Count--
		mark.Sum = minus(mark.Sum, h)
	}
	return tx.SetMark(mark)
}

// sameDigests compares what stands here with what stands at the server.
func sameDigests(tx Tx, ds []Digest) error {
	parts, err := tx.Parts()
	if err != nil {
		return err
	}
	for _, d := range ds {
		if slices.ContainsFunc(parts, func(p Part) bool { return p.Job == d.Job }) {
			continue // not all of it is here
		}
		m, err := tx.Mark(d.Job)
		if err != nil {
			return err
		}
		if m.Count != d.Count || m.Sum != d.Sum {
			return refuse(ErrDiverged, "job %s: %d entries stand here, %d at the server", d.Job, m.Count, d.Count)
		}
	}
	return nil
}

func msSpan(n int64) time.Duration { return time.Duration(n) * time.Millisecond }
