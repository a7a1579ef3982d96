package replica

import (
	"context"
	"errors"
	"slices"

	"tacet/jobs"
)

// startOver is what a device does when the server's log no longer continues what it has read: the server was restored
// from a backup. Nothing is deleted. What stood is to be confirmed, and stays visible, until the log that is there now
// brings it; what this device wrote and the server no longer has is sent again, because the server is asked first what
// it has. What others wrote and nobody else sends stays to be confirmed. What lies before a rung that the log still has
// stays as it is.
func (r *Replica) startOver(ctx context.Context, co string, from Rung) error {
	err := r.store.Write(ctx, co, func(tx Tx) error {
		me, err := tx.Me()
		if err != nil {
			return err
		}
		parts, err := tx.Parts()
		if err != nil {
			return err
		}
		if !slices.Contains(me.Ladder, from) || len(parts) > 0 {
			from = Rung{} // another process of this home has read on meanwhile
		}
		me.Cursor, me.Ladder = from.cursor(), below(me.Ladder, from.N)
		if err := tx.PutMe(me); err != nil {
			return err
		}
		for _, p := range parts {
			if p.State != PartArriving {
				continue
			}
			// positions of the log that was lost say nothing in this one
			if err := errors.Join(tx.DropArriving(p.Job), tx.PutPart(Part{Job: p.Job, State: PartArriving})); err != nil {
				return err
			}
		}
		return tx.ToConfirm(from.N)
	})
	if err == nil {
		r.setAnswered(false)
	}
	return err
}

// sendAgain puts what this device wrote, from a number on that the server has not heard of, back among what waits to be
// sent, with the photos that it names.
func (r *Replica) sendAgain(ctx context.Context, co string, nextRun int64) error {
	dev, _ := r.identity()
	return r.store.Write(ctx, co, func(tx Tx) error {
		list, err := tx.From(dev, nextRun)
		if err != nil {
			return err
		}
		refold := map[string]bool{}
		for _, s := range list {
			if s.State == Unsent {
				continue
			}
			if s.State == Standing {
				return refuse(ErrEpochChanged, "the server has lost entries that it had confirmed")
			}
			if err := tx.SetState(s.Hash, Unsent, 0, ""); err != nil {
				return err
			}
			refold[s.Job] = refold[s.Job] || !visible(s.State)
			if err := photosAgain(tx, s.Entry); err != nil {
				return err
			}
		}
		for job, yes := range refold {
			if !yes {
				continue
			}
			m, err := tx.Mark(job)
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
}

func photosAgain(tx Tx, e jobs.Entry) error {
	for _, h := range e.Blobs {
		p, err := tx.Photo(e.Job, h)
		if errors.Is(err, jobs.ErrNotFound) || err == nil && !p.Here {
			continue
		}
		if err != nil {
			return err
		}
		p.Sent = false
		if err := tx.PutPhoto(p); err != nil {
			return err
		}
	}
	return nil
}
