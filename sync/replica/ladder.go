package replica

import (
	"context"
	"errors"
	"slices"

	"tacet/jobs"
)

// A device whose server went back to a backup has read a log that agrees with the one that is there now up to some position. It keeps
// a ladder of positions that it has read up to, at distances that grow with age. Each head pins all before it, so the newest
// rung that is in the log that is there now is where the device goes on; at most twice of what was lost is fetched again, not everything.
// The server is asked for each rung as for any cursor: that needs no word of the protocol, and any version of a server can answer.

// Rung is a position of the log that was read up to, and the head of its chain there.
type Rung struct {
	N    int64
	Head jobs.Hash
}

// maxRungs: at distances that double with every second one they span a million acts and more.
const maxRungs = 40

// climb adds a rung on top. Where the rungs on both sides of one are no further apart than the upper is from the top, it goes.
func climb(l []Rung, top Rung) []Rung {
	l = append(slices.Clone(l), top)
	for i := len(l) - 2; i > 0; i-- {
		if l[i+1].N-l[i-1].N <= top.N-l[i+1].N {
			l = slices.Delete(l, i, i+1)
		}
	}
	return l[max(0, len(l)-maxRungs):]
}

// below keeps the rungs before a position.
func below(l []Rung, n int64) []Rung {
	return slices.DeleteFunc(slices.Clone(l), func(r Rung) bool { return r.N >= n })
}

// cutLadder takes away the rungs from a position on: what became there of an entry is not known any more, because something else has
// become of it since, and a log that is followed from behind that position does not say it again.
func cutLadder(tx Tx, n int64) error {
	me, err := tx.Me()
	if err != nil {
		return err
	}
	me.Ladder = below(me.Ladder, n)
	return tx.PutMe(me)
}

// lastShared asks the server for the newest rung that is in its log; the zero Rung is the beginning. Where jobs are kept from this
// device, or arrive on their own, what it has is not simply what the log says up to a position, and it begins anew.
func (r *Replica) lastShared(ctx context.Context, t Transport) (Rung, error) {
	me, err := r.home(ctx)
	if err != nil || me.narrow() {
		return Rung{}, err
	}
	parts, err := r.Parts(ctx, me.Company)
	if err != nil || len(parts) > 0 {
		return Rung{}, err
	}
	shared, gone := 0, len(me.Ladder) // so many are shared for certain; from there on none is
	for shared < gone {
		try := (shared + gone) / 2
		_, err := t.Pull(ctx, me.Ladder[try].cursor().asked(), MinPage)
		switch {
		case err == nil:
			shared = try + 1
		case errors.Is(err, ErrEpochChanged):
			gone = try
		default:
			return Rung{}, err
		}
	}
	if shared == 0 {
		return Rung{}, nil
	}
	return me.Ladder[shared-1], nil
}

// cursor is the cursor on a rung. As at the beginning it has no epoch, until the log that is there now has been read from it.
func (r Rung) cursor() Cursor { return Cursor{N: r.N, Head: r.Head} }

// anyEpoch stands for the epoch of a rung where one has to be said: the head alone tells.
const anyEpoch = "any"

// asked is a cursor as a server is asked with it.
func (c Cursor) asked() Cursor {
	if c.Epoch == "" && c.N > 0 {
		c.Epoch = anyEpoch
	}
	return c
}
