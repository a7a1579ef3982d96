package replica

import (
	"context"
	"errors"
	"fmt"
	"time"

	"tacet/jobs"
)

// A photo travels in pieces, so that after a cut only the rest is sent again, and so that nothing waits long for it:
// between two pieces the exchange looks whether an entry has been recorded, and lets it go first.

const (
	startPiece budget = 16 << 10
	// A piece should take about this long: an entry that is recorded meanwhile waits for no more.
	pieceTime = 2 * time.Second
	// newsEvery is how often the exchange turns to entries while photos go on for long.
	newsEvery = 30 * time.Second
)

// errYield is a transfer of photos that lets entries go first.
var errYield = errors.New("entries go first")

// errLater is a photo that its author has not sent yet.
var errLater = errors.New("not there yet")

// TakePiece keeps a piece of a photo that arrives, if an entry of the job names the photo. With the last piece the whole is
// looked at: what has not the hash, or check refuses, is dropped, and begins anew. An empty piece asks what is here.
func (r *Replica) TakePiece(ctx context.Context, co, job string, h jobs.Hash, at, size int64, piece []byte, check func([]byte) error) (PhotoPart, error) {
	if size < 1 || size > MaxPhoto || len(piece) > MaxPiece || at < 0 || at+int64(len(piece)) > size {
		return PhotoPart{}, &Refusal{Err: ErrTooLarge, Says: fmt.Sprintf("photos have at most %d MiB, pieces %d KiB", MaxPhoto>>20, MaxPiece>>10)}
	}
	p, err := r.photo(ctx, co, job, h)
	if err != nil {
		return PhotoPart{}, err
	}
	if p.Here || p.Gone() { // what was erased is taken no more, and whoever has it need not send it
		return r.partOf(co, p.Size, true), nil
	}
	have, err := r.blobs.Part(ctx, co, h)
	if err != nil {
		return PhotoPart{}, err
	}
	if len(piece) > 0 && at <= have && at+int64(len(piece)) > have {
		if have == 0 {
			if err := r.withinQuota(ctx, co, size); err != nil {
				return PhotoPart{}, err
			}
		}
		if err := r.blobs.AddPart(ctx, co, h, at, piece); err != nil {
			return PhotoPart{}, err
		}
		have = at + int64(len(piece))
	}
	if have < size {
		return r.partOf(co, have, false), nil
	}
	if err := r.takeWhole(ctx, co, job, h, check); err != nil {
		return PhotoPart{}, err
	}
	return r.partOf(co, size, true), nil
}

// takeWhole keeps a photo of which every piece is here.
func (r *Replica) takeWhole(ctx context.Context, co, job string, h jobs.Hash, check func([]byte) error) error {
	data, err := r.blobs.JoinPart(ctx, co, h)
	if err != nil {
		return err
	}
	if jobs.HashBlob(data) != h {
		return errors.Join(refuse(ErrBadHash, "the pieces of photo %s are not what its hash says; it is sent anew", h), r.blobs.DropPart(ctx, co, h))
	}
	if check != nil {
		if err := check(data); err != nil {
			return errors.Join(err, r.blobs.DropPart(ctx, co, h))
		}
	}
	if err := r.TakePhoto(ctx, co, job, h, data); err != nil {
		return err
	}
	return r.blobs.DropPart(ctx, co, h)
}

// PhotoPiece gives at most n bytes of a photo, and how long the whole is.
func (r *Replica) PhotoPiece(ctx context.Context, co, job string, h jobs.Hash, at int64, n int) ([]byte, int64, error) {
	data, err := r.Photo(ctx, co, job, h)
	if err != nil {
		return nil, 0, err
	}
	size := int64(len(data))
	if at < 0 || at >= size {
		return nil, size, refuse(ErrBadFrame, "the photo has %d bytes", size)
	}
	return data[at:min(size, at+int64(max(n, 1)))], size, nil
}

// photosAtOnce is how many photos are looked up at a time.
const photosAtOnce = 20

// exchangePhotos sends what was taken here and fetches what others took. What has not arrived at the server yet is left
// for the next time. One photo that can't go does not keep the others back, unless nothing can go. It ends with errYield
// where entries wait.
func (r *Replica) exchangePhotos(ctx context.Context, t Transport, co string, rep *Report) error {
	if err := r.DropErased(ctx, co); err != nil {
		return err
	}
	turn := &turn{r: r, co: co, began: r.now()}
	send := func(p Photo) error { return r.sendPhoto(ctx, t, co, p, turn, rep) }
	fetch := func(p Photo) error { return r.fetchPhoto(ctx, t, co, p, turn) }
	err := r.eachPhoto(ctx, co, true, false, send)
	if errors.Is(err, errYield) {
		return err
	}
	return errors.Join(err, r.eachPhoto(ctx, co, false, true, fetch))
}

// turn tells when photos have had their turn.
type turn struct {
	r     *Replica
	co    string
	began time.Time
}

// over is asked after each piece, so that every turn gets on by one at least.
func (t *turn) over(ctx context.Context) error {
	if spent := t.r.now().Sub(t.began); spent > newsEvery || spent < 0 {
		return errYield
	}
	dev, _ := t.r.identity()
	var waiting int
	err := t.r.store.Read(ctx, t.co, func(tx Tx) (err error) {
		waiting, _, err = tx.Count(Unsent, dev)
		return err
	})
	if err == nil && waiting > 0 {
		return errYield
	}
	return err
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
			case errors.Is(err, errYield):
				return err // what was wrong with others comes up again
			case err != nil:
				return errors.Join(append(errs, err)...)
			}
		}
	}
}

func (r *Replica) sendPhoto(ctx context.Context, t Transport, co string, p Photo, turn *turn, rep *Report) error {
	data, err := r.blobs.Get(ctx, co, p.H)
	if err != nil {
		return fmt.Errorf("send photo: %w", err)
	}
	size, at := int64(len(data)), int64(0)
	asked := size <= int64(r.spend(&r.piece)) // a small one goes whole, whatever is there
	for {
		var piece []byte
		if asked {
			piece = data[at:min(size, at+int64(r.spend(&r.piece)))]
		}
		began := r.now()
		part, err := t.SendPhoto(ctx, p.Job, p.H, at, size, piece)
		r.pace(len(piece), began, err)
		if err != nil {
			return fmt.Errorf("send photo %s: %w", p.H, err)
		}
		if part.Quota > 0 {
			rep.PhotoQuota = int(part.Used * 100 / part.Quota)
		}
		if part.Whole {
			break
		}
		if asked && part.Have <= at {
			return refuse(ErrBadFrame, "the server does not keep photo %s", p.H)
		}
		asked, at = true, part.Have
		if at < 0 || at >= size {
			return refuse(ErrBadFrame, "the server has %d bytes of photo %s, which has %d", at, p.H, size)
		}
		if len(piece) == 0 {
			continue
		}
		if err := turn.over(ctx); err != nil {
			return err
		}
	}
	err = r.store.Write(ctx, co, func(tx Tx) error {
		now, err := tx.Photo(p.Job, p.H)
		if err != nil || now.Gone() {
			return err // erased here meanwhile
		}
		now.Sent = true
		return tx.PutPhoto(now)
	})
	if err != nil {
		return err
	}
	return turn.over(ctx)
}

func (r *Replica) fetchPhoto(ctx context.Context, t Transport, co string, p Photo, turn *turn) error {
	at, err := r.blobs.Part(ctx, co, p.H)
	if err != nil {
		return err
	}
	for whole := r.isWhole(ctx, co, p.H, at); !whole; {
		began := r.now()
		piece, size, err := t.FetchPhoto(ctx, p.Job, p.H, at, r.spend(&r.piece))
		r.pace(len(piece), began, err)
		if errors.Is(err, jobs.ErrNotFound) || errors.Is(err, ErrErased) { // the record tells that it was erased
			return errLater
		}
		if errors.Is(err, ErrBadFrame) {
			return errors.Join(err, r.blobs.DropPart(ctx, co, p.H)) // what is here goes on in no photo of this hash
		}
		if err != nil {
			return fmt.Errorf("fetch photo %s: %w", p.H, err)
		}
		if len(piece) == 0 || size > MaxPhoto || at+int64(len(piece)) > size {
			return refuse(ErrBadFrame, "a piece of photo %s that does not fit", p.H)
		}
		if err := r.blobs.AddPart(ctx, co, p.H, at, piece); err != nil {
			return err
		}
		if at += int64(len(piece)); at == size {
			whole = true
			continue
		}
		if err := turn.over(ctx); err != nil {
			return err
		}
	}
	if err := r.takeWhole(ctx, co, p.Job, p.H, nil); err != nil && !errors.Is(err, ErrErased) {
		return err
	}
	return turn.over(ctx)
}

// isWhole tells whether the pieces that are here are the whole photo: its last piece came, and then it could not be kept.
func (r *Replica) isWhole(ctx context.Context, co string, h jobs.Hash, have int64) bool {
	if have == 0 {
		return false
	}
	data, err := r.blobs.JoinPart(ctx, co, h)
	return err == nil && jobs.HashBlob(data) == h
}

// pace fits the size of pieces to the line, and to the time they take.
func (r *Replica) pace(n int, began time.Time, err error) {
	if err != nil {
		r.failed(&r.piece, err)
		return
	}
	took := r.now().Sub(began)
	r.arrived(&r.piece, n, n > 0 && took < pieceTime/2)
	if took > 2*pieceTime {
		r.halve(&r.piece)
	}
}
