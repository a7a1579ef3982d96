package replica

import (
	"context"
	"errors"
	"math"

	"tacet/jobs"
)

// dropKeys throws away the keys and the photos that an entry which stands says to throw away, and tells whether it said so. Where they
// are not here, nothing that brings them later is kept: an old backup, a device that comes back after a year.
func dropKeys(tx Tx, e jobs.Entry) (bool, error) {
	list, photos := e.Erases(), e.ErasesPhotos()
	for _, h := range list {
		if err := tx.DropKey(h); err != nil {
			return false, err
		}
	}
	for _, h := range photos {
		if err := tx.PutPhoto(Photo{Job: e.Job, H: h}); err != nil {
			return false, err
		}
	}
	return len(list)+len(photos) > 0, nil
}

// Gone tells that a photo was erased in its job: neither is it here, nor is it to be had from the server. Its row stays, so that nothing
// asks for it any more and nobody who brings it is let in.
func (p Photo) Gone() bool { return !p.Here && !p.Sent }

// noteErased notes that photos were erased in the transaction that is under way: what erases them may be an entry that was held and is
// admitted by another.
func (r *Replica) noteErased(co string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.erased[co] = true
}

// afterErasing removes the files once the transaction is over.
func (r *Replica) afterErasing(ctx context.Context, co string) error {
	r.mu.Lock()
	noted := r.erased[co]
	delete(r.erased, co)
	r.mu.Unlock()
	if !noted {
		return nil
	}
	return r.DropErased(ctx, co)
}

// DropErased removes the files of photos that were erased in every job that names them. The record says first that they are gone; what a
// crash kept from being removed is removed the next time this is asked: at each exchange of a device, at each start of a server.
func (r *Replica) DropErased(ctx context.Context, co string) error {
	var gone []Photo
	err := r.store.Read(ctx, co, func(tx Tx) (err error) {
		gone, err = tx.Photos(false, false, math.MaxInt32)
		return err
	})
	if err != nil {
		return err
	}
	var left []jobs.Hash
	for _, p := range gone {
		if err := r.blobs.DropPart(ctx, co, p.H); err != nil {
			return err
		}
		_, err := r.blobs.Size(ctx, co, p.H)
		if errors.Is(err, jobs.ErrNotFound) {
			continue
		}
		if err != nil {
			return err
		}
		left = append(left, p.H)
	}
	if len(left) == 0 {
		return nil
	}
	// Under the company's lock: no entry that names one of them is written meanwhile.
	err = r.store.Write(ctx, co, func(tx Tx) error {
		all, err := tx.AllPhotos()
		if err != nil {
			return err
		}
		kept := map[jobs.Hash]bool{}
		for _, p := range all {
			kept[p.H] = kept[p.H] || !p.Gone()
		}
		for _, h := range left {
			if kept[h] {
				continue
			}
			if err := r.blobs.Drop(ctx, co, h); err != nil {
				return err
			}
		}
		return nil
	})
	r.mu.Lock()
	delete(r.used, co)
	r.mu.Unlock()
	return err
}

// ErasePhotosAgain erases photos of a job that a record which was put back has again, and tells how many it had. None is taken later.
func (r *Replica) ErasePhotosAgain(ctx context.Context, co, job string, list []jobs.Hash) (n int, err error) {
	err = r.store.Write(ctx, co, func(tx Tx) error {
		n = 0
		for _, h := range list {
			p, err := tx.Photo(job, h)
			if err == nil && p.Gone() {
				continue
			}
			if err != nil && !errors.Is(err, jobs.ErrNotFound) {
				return err
			}
			if err == nil {
				n++
			}
			if err := tx.PutPhoto(Photo{Job: job, H: h}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return n, err
	}
	return n, r.DropErased(ctx, co)
}

// forgetWords does the same for what was recorded on a device just now.
func (r *Replica) forgetWords(tx Tx, co string, es []jobs.Entry) error {
	for _, e := range es {
		if len(e.ErasesPhotos()) > 0 {
			r.noteErased(co)
		}
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
