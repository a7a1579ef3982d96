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
		if _, err := tx.Photo(job, h); err == nil {
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
	if _, err := r.photo(ctx, co, job, h); err != nil {
		return err
	}
	if _, err := r.blobs.Put(ctx, co, data); err != nil {
		return err
	}
	return r.store.Write(ctx, co, func(tx Tx) error {
		p, err := tx.Photo(job, h)
		if err != nil {
			return err
		}
		p.Here, p.Sent, p.Size = true, true, int64(len(data))
		return tx.PutPhoto(p)
	})
}

// Photo gives a photo that an entry of the job names. A hash that is known from another job opens nothing.
func (r *Replica) Photo(ctx context.Context, co, job string, h jobs.Hash) ([]byte, error) {
	p, err := r.photo(ctx, co, job, h)
	if err != nil {
		return nil, err
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

// photosAtOnce is how many photos are looked up at a time.
const photosAtOnce = 20

// exchangePhotos sends what was taken here and fetches what others took. What has not arrived at the server yet is left
// for the next time. One photo that can't go does not keep the others back, unless nothing can go.
func (r *Replica) exchangePhotos(ctx context.Context, t Transport, co string) error {
	send := func(p Photo) error { return r.sendPhoto(ctx, t, co, p) }
	fetch := func(p Photo) error { return r.fetchPhoto(ctx, t, co, p) }
	return errors.Join(r.eachPhoto(ctx, co, true, false, send), r.eachPhoto(ctx, co, false, true, fetch))
}

// eachPhoto does each photo that is here, or sent, as asked. The ones that could not be done are counted over.
func (r *Replica) eachPhoto(ctx context.Context, co string, here, sent bool, do func(Photo) error) error {
	var errs []error
	for skip := 0; ; {
		var list []Photo
		err := r.store.Read(ctx, co, func(tx Tx) (err error) {
			list, err = tx.Photos(here, sent, skip+photosAtOnce)
			return err
		})
		if err != nil || len(list) <= skip {
			return errors.Join(append(errs, err)...)
		}
		for _, p := range list[skip:] {
			err := do(p)
			switch {
			case errors.Is(err, errLater):
				skip++
			case errors.Is(err, jobs.ErrNotFound) || errors.Is(err, ErrBroken) || errors.Is(err, ErrTooLarge) || errors.Is(err, ErrBadHash):
				errs = append(errs, err)
				skip++
			case err != nil:
				return errors.Join(append(errs, err)...)
			}
		}
	}
}

// errLater is a photo that its author has not sent yet.
var errLater = errors.New("not there yet")

func (r *Replica) sendPhoto(ctx context.Context, t Transport, co string, p Photo) error {
	data, err := r.blobs.Get(ctx, co, p.H)
	if err != nil {
		return fmt.Errorf("send photo: %w", err)
	}
	if err := t.PutPhoto(ctx, p.Job, p.H, data); err != nil {
		return fmt.Errorf("send photo %s: %w", p.H, err)
	}
	p.Sent = true
	return r.store.Write(ctx, co, func(tx Tx) error { return tx.PutPhoto(p) })
}

func (r *Replica) fetchPhoto(ctx context.Context, t Transport, co string, p Photo) error {
	data, err := t.GetPhoto(ctx, p.Job, p.H)
	if errors.Is(err, jobs.ErrNotFound) {
		return errLater
	}
	if err != nil {
		return fmt.Errorf("fetch photo %s: %w", p.H, err)
	}
	return r.TakePhoto(ctx, co, p.Job, p.H, data)
}
