package privacy

import (
	"context"
	"errors"
	"fmt"

	"tacet/jobs"
)

// Gone is what went by itself of a class.
type Gone struct {
	Company, Class string
	Days           int
	Lines          int64
	Owner          string // in whose name, by id; empty where it needs nobody's
	Left           bool   // nothing went: whoever ordered it is no owner any more
}

// Daily erases in every firm what goes by itself once it is over its time: who looked always, records and accounts where an owner ordered
// it, in that owner's name. Several servers may do it at the same time: one of them does, and tells so once.
func (d *Desk) Daily(ctx context.Context) (gone []Gone, err error) {
	firms, err := d.Accounts.Companies(ctx)
	if err != nil {
		return nil, err
	}
	var errs []error // of one firm; the others have their turn all the same
	for _, f := range firms {
		list, err := d.daily(ctx, f.ID)
		gone = append(gone, list...)
		if err != nil {
			errs = append(errs, fmt.Errorf("company %s: %w", f.ID, err))
		}
	}
	return gone, errors.Join(errs...)
}

func (d *Desk) daily(ctx context.Context, co string) (gone []Gone, err error) {
	kept, err := d.Classes(ctx, co)
	if err != nil {
		return nil, err
	}
	ordered := map[string]bool{}
	for _, k := range kept {
		switch {
		case k.Itself:
			n, err := d.Accounts.ForgetLooks(ctx, co, d.Now().AddDate(0, 0, -k.Now), false)
			if err != nil {
				return gone, err
			}
			if n > 0 {
				gone = append(gone, Gone{Company: co, Class: k.Code, Days: k.Now, Lines: n})
			}
		case k.By != "":
			mine, err := d.Accounts.Turn(ctx, co, k.Code, d.Now())
			if err != nil {
				return gone, err
			}
			if mine {
				ordered[k.Code] = true
			}
		}
	}
	if len(ordered) == 0 {
		return gone, nil
	}
	due, err := d.Due(ctx, co)
	if err != nil {
		return gone, err
	}
	for _, x := range due {
		if !ordered[x.Code] || x.Count == 0 {
			continue
		}
		g, err := d.inName(ctx, co, x)
		if err != nil {
			return gone, err
		}
		gone = append(gone, g)
	}
	return gone, nil
}

// inName erases in the name of the owner who ordered it, unless that is no owner any more.
func (d *Desk) inName(ctx context.Context, co string, x Due) (Gone, error) {
	g := Gone{Company: co, Class: x.Code, Days: x.Now, Owner: x.By}
	left, err := d.Left(ctx, co, x.Kept)
	if err != nil || left {
		g.Left = left
		return g, err
	}
	g.Lines = int64(x.Count)
	if err := d.apply(ctx, co, jobs.Author{Person: x.By, Role: jobs.Owner}, x); err != nil {
		return g, err
	}
	return g, d.Accounts.Note(ctx, co, x.By, "erased by standing order what was over its time", "")
}

// Left tells whether a class should go by itself in the name of somebody who is no owner any more, so that it does not.
func (d *Desk) Left(ctx context.Context, co string, k Kept) (bool, error) {
	if k.By == "" {
		return false, nil
	}
	u, err := d.Accounts.User(ctx, co, k.By)
	if errors.Is(err, jobs.ErrNotFound) {
		return true, nil
	}
	return u.Role != jobs.Owner || u.Ended, err
}
