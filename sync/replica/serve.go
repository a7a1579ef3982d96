package replica

import (
	"context"
	"errors"
	"slices"

	"tacet/jobs"
)

// LanesOf tells a device what the server has of it. It commits a write, as a push does: what a receipt confirms must not be what a
// database that waits for its standby may yet lose.
func (r *Replica) LanesOf(ctx context.Context, co, device string) (Lanes, error) {
	l := Lanes{NextRun: 1, Time: ms(r.now())}
	_, key := r.identity()
	err := r.store.Write(ctx, co, func(tx Tx) error {
		d, err := tx.Device(device)
		if errors.Is(err, jobs.ErrNotFound) {
			return nil
		}
		if err != nil {
			return err
		}
		if d.Revoked != 0 {
			return ErrRevoked
		}
		l.NextRun = d.NextRun
		if l.Lanes, err = tx.LanesOf(device); err != nil {
			return err
		}
		for i := range l.Lanes {
			s, err := tx.LastSeal(device, l.Lanes[i].Job)
			if errors.Is(err, jobs.ErrNotFound) || err == nil && s.Receipt == nil {
				continue
			}
			if err != nil {
				return err
			}
			l.Lanes[i].Receipt = s.Receipt
			if err := s.Receipt.Sign(key); err != nil {
				return err
			}
		}
		return tx.PutDevice(d)
	})
	return l, err
}

// PullFrom reads the log behind a cursor for a device from which nothing is kept.
func (r *Replica) PullFrom(ctx context.Context, co, device string, c Cursor, maxBytes int) (Page, error) {
	return r.PullFor(ctx, co, Viewer{Device: device}, c, maxBytes)
}

// PullFor reads the log behind a cursor for one device, as much as fits in maxBytes. A cursor that is not one of this
// log is answered with ErrEpochChanged: what would follow it here is not what the device has not seen. Of jobs that its people
// may not see it gets what became of its own entries, and nothing else.
func (r *Replica) PullFor(ctx context.Context, co string, v Viewer, c Cursor, maxBytes int) (Page, error) {
	var p Page
	_, key := r.identity()
	err := r.store.Read(ctx, co, func(tx Tx) error {
		if err := active(tx, v.Device); err != nil {
			return err
		}
		seq, err := tx.Seq()
		if err != nil {
			return err
		}
		if err := continues(tx, c, seq); err != nil {
			return err
		}
		said, err := tx.Access()
		if err != nil {
			return err
		}
		k := newKeeps(tx, said, v)
		hidden, err := k.hidden(co)
		if err != nil {
			return err
		}
		p.Narrow = len(hidden) > 0
		size := min(max(maxBytes, MinPage), MaxPage)
		p.Cursor = Cursor{Epoch: seq.Epoch, N: c.N, Head: c.Head}
		if p.Narrow {
			err = readSeen(tx, &p, seq, hidden, v.Device, size)
		} else {
			err = readAll(tx, &p, size)
		}
		if err != nil {
			return err
		}
		hideBodies(p.Acts, v.Device)
		if p.Seals, p.Devices, err = r.sealsFor(tx, c.N, p.Cursor.N); err != nil {
			return err
		}
		p.keep(hidden, v.Device)
		p.More = p.Cursor.N < seq.N
		if p.More {
			return nil
		}
		if p.Digests, err = digests(tx, c.N); err != nil {
			return err
		}
		p.Digests = slices.DeleteFunc(p.Digests, func(d Digest) bool { return slices.Contains(hidden, d.Job) })
		var s Sight
		if s.All = k.all; !s.All {
			if s, err = k.sight(co); err != nil {
				return err
			}
		}
		p.Access = accessSum(said, s)
		return nil
	})
	if errors.Is(err, ErrEpochChanged) {
		if may := r.mayConclude(ctx, co); may != nil {
			return Page{}, may
		}
	}
	if err != nil {
		return Page{}, err
	}
	for i := range p.Seals {
		if err := p.Seals[i].Receipt.Sign(key); err != nil {
			return Page{}, err
		}
	}
	p.Time = ms(r.now())
	return p, p.Cursor.Sign(co, key)
}

func readAll(tx Tx, p *Page, size int) (err error) {
	if p.Acts, err = tx.Acts(p.Cursor.N, MaxActs, size); err == nil && len(p.Acts) > 0 {
		last := p.Acts[len(p.Acts)-1]
		p.Cursor.N, p.Cursor.Head = last.N, last.Head
	}
	return err
}

// readSeen leaves out what is hidden, and says before which head each act stands that follows something left out. Where
// nothing more is shown, the cursor moves to the end of the log.
func readSeen(tx Tx, p *Page, seq Seq, hidden []string, own string, size int) (err error) {
	if p.Acts, err = tx.ActsSeen(p.Cursor.N, hidden, own, MaxActs, size); err != nil {
		return err
	}
	n := p.Cursor.N
	for i := range p.Acts {
		a := &p.Acts[i]
		if a.N != n+1 {
			before, err := tx.HeadAt(a.N - 1)
			if err != nil {
				return err
			}
			a.Before = &before
		}
		n = a.N
		p.Cursor.N, p.Cursor.Head = a.N, a.Head
	}
	rest, err := tx.ActsSeen(n, hidden, own, 1, 1)
	if err == nil && len(rest) == 0 {
		p.Cursor.N, p.Cursor.Head = seq.N, seq.Head
	}
	return err
}

// hideBodies takes out what a rule does not let stand: it is nobody's to read but its author's.
func hideBodies(acts []Act, dev string) {
	for i := range acts {
		if a := &acts[i]; a.Dev != dev && after(a.Act) != Standing {
			a.Body, a.Key = nil, nil
		}
	}
}

// keep leaves out the seals of hidden jobs.
func (p *Page) keep(hidden []string, own string) {
	if len(hidden) == 0 {
		return
	}
	p.Seals = slices.DeleteFunc(p.Seals, func(s Seal) bool { return s.Dev != own && slices.Contains(hidden, s.Job) })
	p.Devices = slices.DeleteFunc(p.Devices, func(k DeviceKey) bool {
		return !slices.ContainsFunc(p.Seals, func(s Seal) bool { return s.Dev == k.Dev })
	})
}

// mayConclude tells whether a server may say that its log went back: a standby that lags has not read yet what the device has, and nobody
// can commit there.
func (r *Replica) mayConclude(ctx context.Context, co string) error {
	return r.store.Write(ctx, co, func(tx Tx) error {
		seq, err := tx.Seq()
		if err != nil {
			return err
		}
		return tx.SetSeq(seq)
	})
}

func continues(tx Tx, c Cursor, seq Seq) error {
	if c.Epoch == "" && c.N == 0 {
		return nil
	}
	changed := &Refusal{Err: ErrEpochChanged, Epoch: seq.Epoch}
	if c.N > seq.N {
		return changed
	}
	// Another epoch alone proves nothing lost: the chain of heads tells whether what was read is still there.
	head, err := tx.HeadAt(c.N)
	if err != nil {
		return err
	}
	if head != c.Head {
		return changed
	}
	return nil
}

func (r *Replica) sealsFor(tx Tx, afterN, uptoN int64) ([]Seal, []DeviceKey, error) {
	seals, err := tx.Seals(afterN, uptoN)
	if err != nil {
		return nil, nil, err
	}
	_, own := r.identity()
	var keys []DeviceKey
	done := map[string]bool{}
	for _, s := range seals {
		if done[s.Dev] {
			continue
		}
		done[s.Dev] = true
		d, err := tx.Device(s.Dev)
		if err != nil {
			return nil, nil, err
		}
		k := DeviceKey{Dev: d.ID, Key: d.Key}
		if err := k.Sign(s.Co, own); err != nil {
			return nil, nil, err
		}
		keys = append(keys, k)
	}
	return seals, keys, nil
}

func digests(tx Tx, afterN int64) ([]Digest, error) {
	marks, err := tx.Marks(afterN)
	ds := make([]Digest, len(marks))
	for i, m := range marks {
		ds[i] = Digest{Job: m.Job, Count: m.Count, Sum: m.Sum}
	}
	return ds, err
}
