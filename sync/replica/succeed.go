package replica

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"fmt"
	"slices"

	"tacet/jobs"
)

// saysReissued is why an entry that a successor issued again lies aside.
const saysReissued = "issued again by the device that goes on for this one"

// Succeed makes this home go on under a new device id, because it may have gone back in time, or because its disk was
// copied and two now speak with one voice. What has no place in the log yet is issued again in the lanes of the new device, each
// entry naming in "was" what it was, under a new id, references and ids in its text following; the old bytes lie aside,
// because their places may be taken by what the other one wrote. What has one stays as it is. Should an original
// turn up after all, the fold counts it once. All of it is one transaction.
func (r *Replica) Succeed(ctx context.Context, device string, key ed25519.PrivateKey) (n int, err error) {
	pub, ok := key.Public().(ed25519.PublicKey)
	if !ok {
		return 0, fmt.Errorf("device %s has no key", device)
	}
	me, err := r.store.Active(ctx)
	if err != nil {
		return 0, err
	}
	err = r.store.Write(ctx, me.Company, func(tx Tx) error {
		me, err := tx.Me()
		if err != nil || me.Device == device {
			return err // done before, and nobody learned of it
		}
		old, err := tx.Device(me.Device)
		if err != nil {
			old = Device{ID: me.Device}
		}
		was := me.Device
		me.Device = device
		if err := tx.PutMe(me); err != nil {
			return err
		}
		p := &pen{tx: tx, co: me.Company, key: key, me: me, ends: map[string]LaneHead{}, runs: map[string]int64{},
			dev: Device{ID: device, Key: pub, Name: old.Name, Person: me.Person, NextRun: 1, Enrolled: ms(r.now()), Clk: old.Clk, Was: was}}
		list, err := unplaced(tx, was)
		if err != nil {
			return err
		}
		if err := r.issueAgain(p, list); err != nil {
			return err
		}
		n = len(list)
		return tx.PutDevice(p.dev)
	})
	if err != nil {
		return 0, fmt.Errorf("go on as device %s: %w", device, err)
	}
	r.mu.Lock()
	r.device, r.key, r.asked = device, key, false
	clear(r.folds)
	r.mu.Unlock()
	return n, nil
}

// issueAgain writes entries of a former id anew, and leaves what they were aside.
func (r *Replica) issueAgain(p *pen, list []Stored) (err error) {
	now := map[jobs.Hash]jobs.Hash{}
	var ids [][2][]byte
	var rows []Stored
	var left []Aside
	for _, s := range list {
		env := s.Envelope
		if env.ID, err = r.NewID(); err != nil {
			return err
		}
		if env.Was.IsZero() {
			env.Was = s.Hash
		} // else the very first: what lies between may never reach the server
		env.Refs = slices.Clone(env.Refs)
		for i, ref := range env.Refs {
			if h, ok := now[ref.H]; ok {
				env.Refs[i].H = h
			}
		}
		body := s.Data
		for _, id := range ids {
			body = bytes.ReplaceAll(body, id[0], id[1])
		}
		e, err := p.write(env, body)
		if err != nil {
			return err
		}
		e.Key = s.Key
		p.dev.Clk = max(p.dev.Clk, e.Clk)
		now[s.Hash] = e.Hash
		ids = append(ids, [2][]byte{[]byte(s.ID), []byte(e.ID)})
		rows = append(rows, Stored{Entry: e, State: Unsent, At: s.At})
		left = append(left, Aside{Entry: s.Entry, Why: WhyForked, At: ms(r.now()), State: AsideAdmitted, Says: saysReissued})
	}
	if err := p.tx.Leave(left); err != nil {
		return err
	}
	if err := p.tx.Insert(rows); err != nil {
		return err
	}
	done := map[string]bool{}
	for _, s := range list {
		if done[s.Job] {
			continue
		}
		done[s.Job] = true
		m, err := p.tx.Mark(s.Job)
		if err != nil {
			return err
		}
		m.Rev++
		if err := p.tx.SetMark(m); err != nil {
			return err
		}
	}
	return nil
}

// unplaced lists what a device wrote that has no place in the log as far as is known here: not sent, sent and not read yet,
// or lost by a server that was restored. At its place in the lane, somebody else's entry may stand.
func unplaced(tx Tx, dev string) ([]Stored, error) {
	list, err := tx.From(dev, 1)
	return slices.DeleteFunc(list, func(s Stored) bool { return !s.unplaced() }), err
}

func (s Stored) unplaced() bool {
	switch s.State {
	case Unsent, Sent, ToConfirm:
		return true
	case Held, Refused:
		return s.N == 0 // by a server that has lost it since
	}
	return false
}

// NewEpoch begins another epoch of a company's log, at the server: it was restored from a backup, and what it had written
// since is not there. Positions go on; the chain of heads tells who has read what is lost.
func (r *Replica) NewEpoch(ctx context.Context, co, cause string) error {
	id, err := r.newEpoch()
	if err != nil {
		return err
	}
	return r.store.Write(ctx, co, func(tx Tx) error {
		seq, err := tx.Seq()
		if err != nil || seq.Epoch == "" {
			return err
		}
		e := Epoch{ID: id, Parent: seq.Epoch, FirstN: seq.N + 1, Cause: cause, At: ms(r.now())}
		if err := tx.PutEpoch(e); err != nil {
			return err
		}
		seq.Epoch = id
		return tx.SetSeq(seq)
	})
}
