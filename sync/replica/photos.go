package replica

import (
	"context"
	"errors"
	"fmt"

	"tacet/jobs"
)

// namePhotos notes the photos that an entry being recorded names. They must be on the disk, whole: an entry never names
// what may yet be lost.
func (r *Replica) namePhotos(ctx context.Context, tx Tx, co, job string, hs []jobs.Hash) error {
	for _, h := range hs {
		size, err := r.blobs.Size(ctx, co, h)
		if errors.Is(err, jobs.ErrNotFound) {
			return &jobs.InputError{Field: "photos", Value: h.String(), Hint: "the photo is not here; add it first"}
		}
		if err != nil {
			return err
		}
		if p, err := tx.Photo(job, h); err == nil && p.Gone() {
			return &jobs.InputError{Field: "photos", Value: h.String(), Hint: "this photo was erased in this job; take another"}
		} else if err == nil {
			continue
		} else if !errors.Is(err, jobs.ErrNotFound) {
			return err
		}
		if err := tx.PutPhoto(Photo{Job: job, H: h, Size: size, Here: true, Sent: r.authority}); err != nil {
			return err
		}
	}
	return nil
}

// wantPhotos notes the photos that an entry from elsewhere names.
func wantPhotos(tx Tx, e jobs.Entry) error {
	for _, h := range e.Blobs {
		if _, err := tx.Photo(e.Job, h); err == nil {
			continue
		} else if !errors.Is(err, jobs.ErrNotFound) {
			return err
		}
		if err := tx.PutPhoto(Photo{Job: e.Job, H: h, Sent: true}); err != nil {
			return err
		}
	}
	return nil
}

// TakePhoto keeps a photo that arrives, if an entry of the job names it.
func (r *Replica) TakePhoto(ctx context.Context, co, job string, h jobs.Hash, data []byte) error {
	if len(data) > MaxPhoto {
		return ErrTooLarge
	}
	if jobs.HashBlob(data) != h {
		return refuse(ErrBadHash, "the photo is not the one that its address names")
	}
	if p, err := r.photo(ctx, co, job, h); err != nil {
		return err
	} else if p.Gone() {
		return ErrErased
	}
	if err := r.withinQuota(ctx, co, int64(len(data))); err != nil {
		return err
	}
	if _, err := r.blobs.Put(ctx, co, data); err != nil {
		return err
	}
	err := r.store.Write(ctx, co, func(tx Tx) error {
		p, err := tx.Photo(job, h)
		if err != nil {
			return err
		}
		if p.Gone() {
			return ErrErased // while it came
		}
		p.Here, p.Sent, p.Size = true, true, int64(len(data))
		return tx.PutPhoto(p)
	})
	if errors.Is(err, ErrErased) {
		return errors.Join(err, r.DropErased(ctx, co))
	}
	if err == nil {
		r.addUsed(co, int64(len(data)))
	}
	return err
}

// Photo gives a photo that an entry of the job names. A hash that is known from another job opens nothing.
func (r *Replica) Photo(ctx context.Context, co, job string, h jobs.Hash) ([]byte, error) {
	p, err := r.photo(ctx, co, job, h)
	if err != nil {
		return nil, err
	}
	if p.Gone() {
		return nil, fmt.Errorf("photo %s: %w", h, ErrErased)
	}
	if !p.Here {
		return nil, fmt.Errorf("photo %s has not arrived yet: %w", h, jobs.ErrNotFound)
	}
	return r.blobs.Get(ctx, co, h)
}

func (r *Replica) photo(ctx context.Context, co, job string, h jobs.Hash) (p Photo, err error) {
	err = r.store.Read(ctx, co, func(tx Tx) error {
		p, err = tx.Photo(job, h)
		return err
	})
	return p, err
}
