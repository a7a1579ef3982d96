package replica

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// Report is what one exchange did and what is left.
type Report struct {
	Sent     int // entries with a verified receipt
	Received int // entries of others
	Waiting  int // entries recorded here that have no receipt yet
	Held     int // entries recorded here that wait for the supervisor
	Photos   int // photos recorded here that are not at the server yet

	PhotoQuota int // per cent of the server's room for photos that are used, where it said so
}

// Sync sends and fetches once: entries first, then the directory, then photos. The report is right also when an error
// cut the exchange short; nothing recorded here is ever lost by one.
func (r *Replica) Sync(ctx context.Context, t Transport) (Report, error) {
	var rep Report
	me, err := r.home(ctx)
	if err != nil {
		return rep, err
	}
	err = r.exchange(ctx, t, me.Company, &rep)
	count := func() error {
		n, photos, _, err := r.Waiting(ctx, me.Company)
		rep.Waiting, rep.Photos = n, photos
		if err != nil {
			return err
		}
		rep.Held, err = r.held(ctx, me.Company)
		return err
	}
	return rep, errors.Join(err, count())
}

func (r *Replica) exchange(ctx context.Context, t Transport, co string, rep *Report) error {
	err := r.entries(ctx, t, rep)
	if errors.Is(err, ErrEpochChanged) {
		err = r.goBack(ctx, t, co, rep, err)
	}
	if err == nil {
		err = r.offerLost(ctx, t, rep)
	}
	if err == nil {
		err = r.sendIssuedAgain(ctx, t, rep)
	}
	if err != nil {
		return err
	}
	people, err := t.People(ctx)
	if err != nil {
		return err
	}
	if err := r.store.Write(ctx, co, func(tx Tx) error { return tx.PutPeople(people) }); err != nil {
		return err
	}
	for {
		err := r.followAccess(ctx, t)
		if err == nil {
			err = r.arrive(ctx, t, co, rep)
		}
		if err == nil {
			err = r.exchangePhotos(ctx, t, co, rep)
		}
		if !errors.Is(err, errYield) {
			return err
		}
		if err := r.entries(ctx, t, rep); err != nil {
			return err
		}
	}
}

// errReadWithout is ErrEpochChanged where nothing tells behind which position of the log it is.
var errReadWithout = fmt.Errorf("%w", ErrEpochChanged)

// goBack follows a server whose log does not go on where this device has read it: from the newest position that both have, or, where
// that does not lead to the same record, from the beginning.
func (r *Replica) goBack(ctx context.Context, t Transport, co string, rep *Report, because error) error {
	var from Rung
	if !errors.Is(because, errReadWithout) {
		var err error
		if from, err = r.lastShared(ctx, t); err != nil {
			return err
		}
	}
	err := r.entriesFrom(ctx, t, co, rep, from)
	if from.N > 0 && (errors.Is(err, ErrEpochChanged) || errors.Is(err, ErrDiverged)) {
		err = r.entriesFrom(ctx, t, co, rep, Rung{})
	}
	return err
}

func (r *Replica) entriesFrom(ctx context.Context, t Transport, co string, rep *Report, from Rung) error {
	if err := r.startOver(ctx, co, from); err != nil {
		return err
	}
	// who was cut off must be so before anything of theirs is given back
	if me, err := r.home(ctx); err != nil {
		return err
	} else if err := r.askAccess(ctx, t, me); err != nil {
		return err
	}
	return r.entries(ctx, t, rep)
}

// offerLost offers what the server has lost of others, and reads what became of it.
func (r *Replica) offerLost(ctx context.Context, t Transport, rep *Report) error {
	me, err := r.home(ctx)
	if err != nil {
		return err
	}
	taken, err := r.offer(ctx, t, me)
	if err != nil || taken == 0 {
		return err
	}
	got, err := r.Pull(ctx, t)
	rep.Received += got.Entries
	return err
}

// sendIssuedAgain sends what this device had to issue again because of what it read: before the photos that are named in it.
func (r *Replica) sendIssuedAgain(ctx context.Context, t Transport, rep *Report) error {
	me, err := r.home(ctx)
	if err != nil {
		return err
	}
	if n, err := r.own(ctx, me, Unsent); err != nil || n == 0 {
		return err
	}
	return r.entries(ctx, t, rep)
}

func (r *Replica) entries(ctx context.Context, t Transport, rep *Report) error {
	sent, err := r.Push(ctx, t)
	rep.Sent += sent.Entries
	if err != nil {
		return err
	}
	got, err := r.Pull(ctx, t)
	rep.Received += got.Entries
	if err != nil {
		return err
	}
	return r.searchSent(ctx, t, rep)
}

// searchSent looks after entries that were sent and then did not come with the log: it has been read to its end. Where
// the server has lost them before anybody read them, no cursor tells; they are sent again. So are those that wait to be confirmed
// since the server was restored, and that it has lost once more meanwhile.
func (r *Replica) searchSent(ctx context.Context, t Transport, rep *Report) error {
	me, err := r.home(ctx)
	if err != nil {
		return err
	}
	missing, err := r.own(ctx, me, Sent, ToConfirm)
	if err != nil || missing == 0 {
		return err
	}
	if _, err := r.askLanes(ctx, t, me); err != nil {
		return err
	}
	sent, err := r.Push(ctx, t)
	rep.Sent += sent.Entries
	if err != nil {
		return err
	}
	got, err := r.Pull(ctx, t)
	rep.Received += got.Entries
	if err != nil {
		return err
	}
	missing, err = r.own(ctx, me, Sent)
	if err == nil && missing > 0 {
		// a log that was lost and written again to the letter: what it says of them was read before, and is read once more
		return refuse(errReadWithout, "%d entries are at the server, and its log was read without them", missing)
	}
	return err
}

// own counts what this device recorded and what is in one of these states.
func (r *Replica) own(ctx context.Context, me Me, states ...State) (all int, err error) {
	err = r.store.Read(ctx, me.Company, func(tx Tx) error {
		for _, s := range states {
			n, _, err := tx.Count(s, me.Device)
			if err != nil {
				return err
			}
			all += n
		}
		return nil
	})
	return all, err
}

// Waiting tells what was recorded here and is not at the server yet.
func (r *Replica) Waiting(ctx context.Context, co string) (entries, photos int, oldest time.Time, err error) {
	dev, _ := r.identity()
	err = r.store.Read(ctx, co, func(tx Tx) error {
		n, at, err := tx.Count(Unsent, dev)
		if err != nil {
			return err
		}
		entries = n
		if n > 0 {
			oldest = time.UnixMilli(at).UTC()
		}
		photos, err = tx.CountPhotos(true, false)
		return err
	})
	return entries, photos, oldest, err
}

// Unconfirmed counts what was recorded here, stood at the server, and has not come back since the server went back to a backup.
func (r *Replica) Unconfirmed(ctx context.Context, co string) (n int, err error) {
	dev, _ := r.identity()
	err = r.store.Read(ctx, co, func(tx Tx) error {
		n, _, err = tx.Count(ToConfirm, dev)
		return err
	})
	return n, err
}

func (r *Replica) held(ctx context.Context, co string) (n int, err error) {
	dev, _ := r.identity()
	err = r.store.Read(ctx, co, func(tx Tx) error {
		n, _, err = tx.Count(Held, dev)
		return err
	})
	return n, err
}

// answerable bounds the list of Answerable.
const answerable = 1000

// Answerable lists the entries of a company that wait for a supervisor, and those that were not taken, with the reasons.
func (r *Replica) Answerable(ctx context.Context, co string) (list []Stored, err error) {
	err = r.store.Read(ctx, co, func(tx Tx) error {
		for _, s := range []State{Held, Refused} {
			part, err := tx.InState(s, "", answerable)
			if err != nil {
				return err
			}
			list = append(list, part...)
		}
		return nil
	})
	return list, err
}
