package replica

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"tacet/jobs"
)

// When a server has lost a part of its log, each device sends again what it wrote itself. What others wrote, and those
// others may be scrapped, it offers: entries, the seals on them, and the receipts with which the server itself once signed
// that it had them.

// saysTextLost is why an entry that comes back without its text is held.
const saysTextLost = "its text was lost with the server's data; its author's device may still have it"

// offer gives the server what others wrote and its log no longer holds. What it does not take, because something before it
// is missing, stays here, to be confirmed, and is not offered again before something has changed.
func (r *Replica) offer(ctx context.Context, t Transport, me Me) (taken int, err error) {
	lost, err := r.lost(ctx, me)
	if err != nil || len(lost) == 0 {
		return 0, err
	}
	// When the log has grown, what went before it may have come.
	state := fmt.Sprintf("%s %d %d", me.Cursor.Epoch, me.Cursor.N, len(lost))
	if r.wasOffered(state) {
		return 0, nil
	}
	for len(lost) > 0 {
		n := 1
		for n < len(lost) && lost[n].Dev == lost[0].Dev {
			n++
		}
		k, err := r.offerDevice(ctx, t, me, lost[:n])
		taken += k
		if err != nil {
			return taken, err
		}
		lost = lost[n:]
	}
	r.noteOffered(state) // not before: a connection may be cut in the midst of it
	return taken, nil
}

// lost lists what the log that was read to its end did not bring, by device, in the order of its numbers.
func (r *Replica) lost(ctx context.Context, me Me) (list []Stored, err error) {
	err = r.store.Read(ctx, me.Company, func(tx Tx) error {
		for _, s := range []State{ToConfirm, Sent, Held, Refused} {
			part, err := tx.InState(s, me.Device, MaxBatch*20)
			if err != nil {
				return err
			}
			for _, e := range part {
				if e.N == 0 {
					list = append(list, e)
				}
			}
		}
		return nil
	})
	slices.SortFunc(list, func(a, b Stored) int {
		if a.Dev != b.Dev {
			return compareDev(a.Dev, b.Dev)
		}
		return int(a.Run - b.Run)
	})
	return list, err
}

func compareDev(a, b string) int {
	if a < b {
		return -1
	}
	return 1
}

func (r *Replica) wasOffered(state string) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.offered == state
}

func (r *Replica) noteOffered(state string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.offered = state
}

func (r *Replica) offerDevice(ctx context.Context, t Transport, me Me, list []Stored) (taken int, err error) {
	for len(list) > 0 {
		b, err := r.sealedStretch(ctx, me.Company, list)
		if err != nil || len(b.Entries) == 0 {
			return taken, err
		}
		a, err := t.Offer(ctx, b)
		if err != nil {
			return taken, fmt.Errorf("offer what others wrote: %w", err)
		}
		if len(a.Verdicts) == 0 {
			return taken, nil
		}
		taken += len(a.Verdicts)
		if err := r.photosOf(ctx, me.Company, list[:len(b.Entries)]); err != nil {
			return taken, err
		}
		list = list[len(b.Entries):]
	}
	return taken, nil
}

// sealedStretch takes as many entries as fit, up to a point at which every lane that they touch ends in a seal with its
// receipt.
func (r *Replica) sealedStretch(ctx context.Context, co string, list []Stored) (b Batch, err error) {
	err = r.store.Read(ctx, co, func(tx Tx) error {
		ends := map[string]*Seal{} // nil: the lane's end so far has no receipt
		size, good := 0, 0
		var seals []Seal
		for i, s := range list[:min(len(list), MaxBatch)] {
			if s.Data == nil {
				break // held back from us: its author's device has the text, and taken without it, it would be lost
			}
			if i > 0 && s.Run != list[i-1].Run+1 {
				break // what lies between is of a job that this device does not see: what comes before it can still be taken
			}
			size += len(s.Env) + len(s.Data)
			seal, err := tx.SealAt(s.Dev, s.Job, s.Seq)
			switch {
			case errors.Is(err, jobs.ErrNotFound) || err == nil && seal.Receipt == nil:
				ends[s.Job] = nil
			case err != nil:
				return err
			default:
				ends[s.Job] = &seal
			}
			if size > MaxBatchBytes || len(ends) > MaxLanes {
				break
			}
			if !allSealed(ends) {
				continue
			}
			good, seals = i+1, nil
			for _, e := range ends {
				seals = append(seals, *e)
			}
			if size > MaxBatchBytes/4 {
				break
			}
		}
		for _, s := range list[:good] {
			b.Entries = append(b.Entries, Raw{Env: s.Env, Body: s.Data, Key: s.Key})
		}
		b.Seals = seals
		if good == 0 {
			return nil
		}
		d, err := tx.Device(list[0].Dev)
		if errors.Is(err, jobs.ErrNotFound) {
			b = Batch{}
			return nil
		}
		b.Devices = []DeviceKey{{Dev: d.ID, Key: d.Key, Sig: d.KeySig}}
		return err
	})
	return b, err
}

func allSealed(ends map[string]*Seal) bool {
	for _, s := range ends {
		if s == nil {
			return false
		}
	}
	return true
}

// photosOf has the photos that entries name sent again, as far as they are here.
func (r *Replica) photosOf(ctx context.Context, co string, list []Stored) error {
	return r.store.Write(ctx, co, func(tx Tx) error {
		for _, s := range list {
			if err := photosAgain(tx, s.Entry); err != nil {
				return err
			}
		}
		return nil
	})
}

// TakeOffer is the door for what one device offers of another's, at the server. A lane is taken where the server's own
// receipt says that it was here before, and where it goes on from what is here; what does not is left, without an error.
func (r *Replica) TakeOffer(ctx context.Context, co, from string, b Batch) (Answer, error) {
	es, keys, err := r.openOffer(co, from, b)
	if err != nil {
		return Answer{}, err
	}
	in := r.receiving(co, es)
	defer in.leave()
	if err := in.judge(ctx, r.store, co, nil); err != nil {
		return Answer{}, err
	}
	var a Answer
	err = r.store.Write(ctx, co, func(tx Tx) error {
		a = Answer{}
		if err := active(tx, from); err != nil {
			return err
		}
		rows, err := r.takeOffered(tx, es, keys)
		if err != nil || len(rows) == 0 {
			return err
		}
		if _, err := r.position(tx, co, rows, in.held, in.refused, sealsOn(rows, b.Seals)); err != nil {
			return err
		}
		if err := r.hear(tx, entriesOf(rows)); err != nil {
			return err
		}
		for _, s := range rows {
			a.Verdicts = append(a.Verdicts, Verdict{ID: s.ID, State: s.State, N: s.N, Says: s.Says})
		}
		return nil
	})
	if err != nil {
		return Answer{}, fmt.Errorf("take what device %s offers: %w", from, err)
	}
	a.Time = ms(r.now())
	return a, nil
}

// openOffer checks all that needs no database.
func (r *Replica) openOffer(co, from string, b Batch) ([]jobs.Entry, map[string]DeviceKey, error) {
	if len(b.Entries) == 0 || len(b.Entries) > MaxBatch || len(b.Seals) > MaxLanes {
		return nil, nil, refuse(ErrBadFrame, "%d entries, %d seals", len(b.Entries), len(b.Seals))
	}
	keys := map[string]DeviceKey{}
	for _, d := range b.Devices {
		keys[d.Dev] = d
	}
	es := make([]jobs.Entry, len(b.Entries))
	ends := map[LaneID]jobs.Entry{}
	for i, raw := range b.Entries {
		e, err := parse(raw)
		if err != nil {
			return nil, nil, err
		}
		if e.Co != co || e.Dev == from {
			return nil, nil, refuse(ErrBadFrame, "entry %s is not one that another device of this company wrote", e.ID)
		}
		id := LaneID{e.Dev, e.Job}
		if before, ok := ends[id]; ok && (e.Seq != before.Seq+1 || e.Prev != before.Hash) {
			return nil, nil, &Refusal{Err: ErrChain, Job: e.Job, Seq: e.Seq}
		}
		ends[id], es[i] = e, e
	}
	pub := r.publicKey()
	for _, s := range b.Seals {
		id := LaneID{s.Dev, s.Job}
		e, ok := ends[id]
		if !ok || s.Co != co || s.Seq != e.Seq || s.H != e.Hash || s.Run != e.Run || !s.Verify(keys[s.Dev].Key) {
			return nil, nil, &Refusal{Err: ErrBadSeal, Job: s.Job, Seq: s.Seq}
		}
		if s.Receipt == nil || !s.Receipt.covers(s) || !s.Receipt.Verify(pub) {
			return nil, nil, refuse(ErrReceipt, "job %s: this server never signed that it had this lane", s.Job)
		}
		delete(ends, id)
	}
	if len(ends) > 0 {
		return nil, nil, refuse(ErrBadSeal, "%d lanes come without a seal", len(ends))
	}
	return es, keys, nil
}

// LaneID names a lane.
type LaneID struct{ Dev, Job string }

// takeOffered gives the entries that are new and go on without a gap, device by device, and moves the devices' numbers on.
func (r *Replica) takeOffered(tx Tx, es []jobs.Entry, keys map[string]DeviceKey) ([]Stored, error) {
	ids := make([]string, len(es))
	of := map[string][]jobs.Entry{}
	for i, e := range es {
		ids[i] = e.ID
		of[e.Dev] = append(of[e.Dev], e)
	}
	known, err := tx.Known(ids)
	if err != nil {
		return nil, err
	}
	pub := r.publicKey()
	var all []Stored
	for dev, list := range of {
		d, err := tx.Device(dev)
		if errors.Is(err, jobs.ErrNotFound) {
			// enrolled after the backup was made: the seals are by this key, and our own receipts are on them
			if !keys[dev].Verify(list[0].Co, pub) {
				continue // anybody could have sealed them anew: nobody says whose key it is
			}
			d, err = Device{ID: dev, Key: keys[dev].Key, NextRun: 1, Enrolled: ms(r.now())}, nil
		}
		if err != nil {
			return nil, err
		}
		if !d.Key.Equal(keys[dev].Key) {
			return nil, refuse(ErrBadSeal, "device %s has another key here", dev)
		}
		rows, err := r.fresh(tx, list, known, d.NextRun)
		var ref *Refusal
		if errors.As(err, &ref) {
			continue // something before it is missing, or something else stands there
		}
		if err != nil {
			return nil, err
		}
		d.NextRun += int64(len(rows))
		if err := tx.PutDevice(d); err != nil {
			return nil, err
		}
		all = append(all, rows...)
	}
	return all, nil
}

func sealsOn(rows []Stored, seals []Seal) []Seal {
	there := map[jobs.Hash]bool{}
	for _, s := range rows {
		there[s.Hash] = true
	}
	return slices.DeleteFunc(slices.Clone(seals), func(s Seal) bool { return !there[s.H] })
}

func entriesOf(rows []Stored) []jobs.Entry {
	es := make([]jobs.Entry, len(rows))
	for i, s := range rows {
		es[i] = s.Entry
	}
	return es
}
