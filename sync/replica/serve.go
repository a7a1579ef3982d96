package replica

import (
	"context"
	"errors"

	"tacet/jobs"
)

// LanesOf tells a device what the server has of it.
func (r *Replica) LanesOf(ctx context.Context, co, device string) (Lanes, error) {
	l := Lanes{NextRun: 1, Time: ms(r.now())}
	_, key := r.identity()
	err := r.store.Read(ctx, co, func(tx Tx) error {
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
		return nil
	})
	return l, err
}

// PullFrom reads the log behind a cursor for one device, as much as fits in maxBytes. A cursor that is not one of this
// log is answered with ErrEpochChanged: what would follow it here is not what the device has not seen.
func (r *Replica) PullFrom(ctx context.Context, co, device string, c Cursor, maxBytes int) (Page, error) {
	var p Page
	_, key := r.identity()
	err := r.store.Read(ctx, co, func(tx Tx) error {
		if d, err := tx.Device(device); err == nil && d.Revoked != 0 {
			return ErrRevoked
		} else if err != nil && !errors.Is(err, jobs.ErrNotFound) {
			return err
		}
		seq, err := tx.Seq()
		if err != nil {
			return err
		}
		if err := continues(tx, c, seq); err != nil {
			return err
		}
		if p.Acts, err = tx.Acts(c.N, MaxActs, min(max(maxBytes, MinPage), MaxPage)); err != nil {
			return err
		}
		p.Cursor = Cursor{Epoch: seq.Epoch, N: c.N, Head: c.Head}
		for i := range p.Acts {
			a := &p.Acts[i]
			p.Cursor.N, p.Cursor.Head = a.N, a.Head
			// what a rule does not let stand is nobody's to read but its author's
			if a.Dev != device && after(a.Act) != Standing {
				a.Body, a.Key = nil, nil
			}
		}
		if p.Seals, p.Devices, err = r.sealsFor(tx, c.N, p.Cursor.N); err != nil {
			return err
		}
		p.More = p.Cursor.N < seq.N
		if !p.More {
			p.Digests, err = digests(tx, c.N)
		}
		return err
	})
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
		keys = append(keys, DeviceKey{Dev: d.ID, Key: d.Key})
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
