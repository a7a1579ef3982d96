package replica

import (
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"

	"tacet/jobs"
)

// Result is what one direction of an exchange did.
type Result struct {
	Entries int // sent with a receipt that was verified, or received from others
	Held    int // of those sent: wait for the supervisor
}

// Push sends what has no receipt yet, batch by batch in the device's own order. An entry counts as sent when the
// server's receipt for its lane is here, verified and saved. When the last push was not answered, or nobody knows, the
// server is asked first what it has: what arrived is not sent again.
func (r *Replica) Push(ctx context.Context, t Transport) (Result, error) {
	var done Result
	for tries := 0; ; {
		me, out, err := r.outbox(ctx)
		if err != nil {
			return done, err
		}
		over := me.Cursor.Epoch == "" // nothing is pulled yet, or the log is to be read anew
		if len(out) == 0 && (!over || r.wasAnswered()) {
			return done, nil
		}
		if !r.wasAnswered() {
			n, err := r.askLanes(ctx, t, me)
			done.Entries += n
			if err != nil {
				return done, err
			}
			r.setAnswered(true)
			continue
		}
		n, held, err := r.pushBatch(ctx, t, me, out)
		done.Entries, done.Held = done.Entries+n, done.Held+held
		switch {
		case err == nil:
			tries = 0
			r.arrived(&r.push, bytesOf(out), true)
		case errors.Is(err, ErrTooLarge) && len(out) > 1 && r.halve(&r.push):
		case errors.Is(err, ErrExpectedRun) && tries < 2:
			tries++ // ask again what is there
		default:
			r.failed(&r.push, err)
			return done, err
		}
	}
}

func (r *Replica) outbox(ctx context.Context) (me Me, out []Stored, err error) {
	me, err = r.home(ctx)
	if err != nil {
		return me, nil, err
	}
	err = r.store.Read(ctx, me.Company, func(tx Tx) error {
		size := r.spend(&r.push)
		list, err := tx.Outbox(MaxBatch, size)
		out = fitting(list, size)
		return err
	})
	return me, out, err
}

// fitting cuts a list to what one message may carry; one entry always goes.
func fitting(list []Stored, maxBytes int) []Stored {
	size, lanes := 0, map[string]bool{}
	for i, s := range list {
		size += len(s.Env) + len(s.Data)
		lanes[s.Job] = true
		if i > 0 && (size > maxBytes || len(lanes) > MaxLanes) {
			return list[:i]
		}
	}
	return list
}

// bytesOf is how much of a message a list makes.
func bytesOf(list []Stored) (n int) {
	for _, s := range list {
		n += len(s.Env) + len(s.Data)
	}
	return n
}

// home is the active identity, which must be enrolled.
func (r *Replica) home(ctx context.Context) (Me, error) {
	me, err := r.store.Active(ctx)
	if err == nil && len(me.ServerKey) == 0 {
		err = ErrNotEnrolled
	}
	if dev, _ := r.identity(); err == nil && me.Device != dev {
		err = ErrSuperseded
	}
	return me, err
}

func (r *Replica) pushBatch(ctx context.Context, t Transport, me Me, out []Stored) (sent, held int, err error) {
	b, err := r.batch(out)
	if err != nil {
		return 0, 0, err
	}
	r.setAnswered(false)
	a, err := t.Push(ctx, b)
	if err != nil {
		return 0, 0, fmt.Errorf("push: %w", err)
	}
	if err := match(me.ServerKey, b.Seals, a.Receipts); err != nil {
		return 0, 0, err
	}
	sent, err = r.confirm(ctx, me, b.Seals, a.Time)
	if err == nil {
		r.setAnswered(true)
	}
	return sent, a.Held(), err
}

// batch seals the ends of the lanes that a list touches.
func (r *Replica) batch(out []Stored) (Batch, error) {
	_, key := r.identity()
	b := Batch{Entries: make([]Raw, len(out))}
	ends := map[string]Stored{}
	for i, s := range out {
		b.Entries[i] = Raw{Env: s.Env, Body: s.Data, Key: s.Key}
		ends[s.Job] = s
	}
	for _, s := range out {
		if ends[s.Job].Hash != s.Hash {
			continue // not the end of its lane
		}
		seal := Seal{Co: s.Co, Dev: s.Dev, Job: s.Job, Seq: s.Seq, H: s.Hash, Run: s.Run}
		if err := seal.Sign(key); err != nil {
			return b, err
		}
		b.Seals = append(b.Seals, seal)
	}
	return b, nil
}

// match puts to each seal its receipt, verified. A receipt of another lane or place proves nothing.
func match(server ed25519.PublicKey, seals []Seal, receipts []Receipt) error {
	for i := range seals {
		for k := range receipts {
			if receipts[k].covers(seals[i]) && receipts[k].Verify(server) {
				seals[i].Receipt = &receipts[k]
			}
		}
		if seals[i].Receipt == nil {
			return refuse(ErrReceipt, "job %s, entry %d of this device", seals[i].Job, seals[i].Seq)
		}
	}
	return nil
}

// confirm saves seals with their receipts and marks what they cover as sent.
func (r *Replica) confirm(ctx context.Context, me Me, seals []Seal, serverTime int64) (sent int, err error) {
	err = r.store.Write(ctx, me.Company, func(tx Tx) error {
		sent = 0
		if err := tx.PutSeals(seals); err != nil {
			return err
		}
		for _, s := range seals {
			n, err := tx.MarkSent(s.Dev, s.Job, s.Seq)
			if err != nil {
				return err
			}
			sent += n
		}
		return r.noteTime(tx, serverTime)
	})
	return sent, err
}

const saysNotHere = "the server has entries of this device that are not here"

// askLanes compares the ends of this device's lanes at the server with what is here, and takes over the receipts.
func (r *Replica) askLanes(ctx context.Context, t Transport, me Me) (sent int, err error) {
	dev, key := r.identity()
	l, err := t.Lanes(ctx)
	if err != nil {
		return 0, fmt.Errorf("ask for lanes: %w", err)
	}
	var seals []Seal
	err = r.store.Read(ctx, me.Company, func(tx Tx) error {
		for _, head := range l.Lanes {
			at, err := tx.At(dev, head.Job, head.Seq)
			if errors.Is(err, jobs.ErrNotFound) || err == nil && at.H != head.H {
				return &Refusal{Err: ErrLaneForked, Job: head.Job, Seq: head.Seq, H: head.H, Says: saysNotHere}
			}
			if err != nil {
				return err
			}
			rec := head.Receipt
			if rec == nil {
				continue
			}
			at, err = tx.At(dev, head.Job, rec.Seq)
			if err != nil {
				return err
			}
			s := Seal{Co: me.Company, Dev: dev, Job: head.Job, Seq: rec.Seq, H: at.H, Run: at.Run}
			if err := s.Sign(key); err != nil {
				return err
			}
			if err := match(me.ServerKey, []Seal{s}, []Receipt{*rec}); err != nil {
				return err
			}
			s.Receipt = rec
			seals = append(seals, s)
		}
		return nil
	})
	if err != nil {
		return 0, err
	}
	if sent, err = r.confirm(ctx, me, seals, l.Time); err != nil {
		return sent, err
	}
	return sent, r.sendAgain(ctx, me.Company, l.NextRun)
}

// noteTime keeps how far this device's clock is from the server's, and puts a clock back that contact proves to be far
// ahead: otherwise one wrong day would be stamped on all that follows.
func (r *Replica) noteTime(tx Tx, server int64) error {
	if !inTime(server) {
		return nil
	}
	me, err := tx.Me()
	if err != nil {
		return err
	}
	now := r.now()
	me.Off = ms(now) - server
	if err := tx.PutMe(me); err != nil {
		return err
	}
	id, key := r.identity()
	d, err := r.ownDevice(tx, id, key)
	if err != nil {
		return err
	}
	at := now.Add(-msSpan(me.Off))
	if !d.Clk.Time().After(at.Add(maxAhead)) {
		return nil
	}
	d.Clk = jobs.ClockAt(at)
	return tx.PutDevice(d)
}

func (r *Replica) wasAnswered() bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.asked
}

func (r *Replica) setAnswered(b bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.asked = b
}
