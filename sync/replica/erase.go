package replica

import (
	"context"
	"errors"

	"tacet/jobs"
)

// dropKeys throws away the keys that an entry which stands says to throw away, and tells whether it said so. Where they
// are not here, nothing that brings them later is kept: an old backup, a device that comes back after a year.
func dropKeys(tx Tx, e jobs.Entry) (bool, error) {
	list := e.Erases()
	for _, h := range list {
		if err := tx.DropKey(h); err != nil {
			return false, err
		}
	}
	return len(list) > 0, nil
}

// forgetWords does the same for what was recorded on a device just now.
func forgetWords(tx Tx, es []jobs.Entry) error {
	for _, e := range es {
		gone, err := dropKeys(tx, e)
		if err != nil {
			return err
		}
		if !gone {
			continue
		}
		m, err := tx.Mark(e.Job)
		if err != nil {
			return err
		}
		m.Rev++
		if err := tx.SetMark(m); err != nil {
			return err
		}
	}
	return nil
}

// EraseAgain throws away keys that a record which was put back has again, and tells how many it had. Keys that come later are not kept.
func (r *Replica) EraseAgain(ctx context.Context, co string, list []jobs.Hash) (n int, err error) {
	err = r.store.Write(ctx, co, func(tx Tx) error {
		n = 0
		for _, h := range list {
			s, err := tx.Entry(h)
			if err != nil && !errors.Is(err, jobs.ErrNotFound) {
				return err
			}
			if err := tx.DropKey(h); err != nil {
				return err
			}
			if s.Key == nil {
				continue
			}
			n++
			m, err := tx.Mark(s.Job)
			if err != nil {
				return err
			}
			m.Rev++
			if err := tx.SetMark(m); err != nil {
				return err
			}
		}
		return nil
	})
	if n > 0 {
		r.forgetAll()
	}
	return n, err
}
