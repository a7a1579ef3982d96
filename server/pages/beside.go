package pages

import (
	"context"
	"crypto/rand"
)

// work reads all jobs of a firm and gives what shows the result. It calls read after each job, and may not touch the visit that asked for it,
// which has ended by then.
type work func(ctx context.Context, read func() error) (func(*visit) error, error)

// beside does what reads every job of the firm: at once where these are few, else beside the page, which says how far it is and lets it be
// stopped.
func (v *visit) beside(do work) error { return v.work(do, false) }

// besideToEnd does the same with what changes something, which is not stopped half way.
func (v *visit) besideToEnd(do work) error { return v.work(do, true) }

func (v *visit) work(do work, toEnd bool) error {
	rows, err := v.jobRows()
	if err != nil {
		return err
	}
	if len(rows) <= readAtOnce {
		show, err := do(v.ctx, v.ctx.Err)
		if err != nil {
			return err
		}
		return show(v)
	}
	id := rand.Text()
	v.longs.begin(v.ctx, v.workKey(id), v.deps.Now(), len(rows), toEnd, func(ctx context.Context, read func() error) (any, error) { return do(ctx, read) })
	return v.see(v.c.Path() + "?work=" + id)
}

// workKey is known to nobody but who asked for it.
func (v *visit) workKey(id string) string { return v.who.Person + " " + v.c.Path() + " " + id }

// besideNow says how far the work of the address is, or shows what came of it, once; whoever comes back to it later, or stopped it, is sent to.
func (v *visit) besideNow(to string) error {
	id := v.c.Query("work")
	key := v.workKey(id)
	if v.c.Query("stop") != "" {
		v.longs.stop(key)
		return v.see("/privacy")
	}
	now, ended := v.longs.find(key, v.deps.Now())
	switch {
	case now == nil:
		return v.see(to)
	case !ended:
		return now.far(v.c.Path() + "?work=" + id + "&stop=1")
	case now.err != nil:
		return now.err
	}
	return now.result.(func(*visit) error)(v)
}
