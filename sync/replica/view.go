package replica

import (
	"context"
	"crypto/sha256"
	"fmt"
	"maps"
	"slices"
	"strings"

	"tacet/jobs"
)

// Jobs lists the jobs of a company.
func (r *Replica) Jobs(ctx context.Context, co string) (rows []JobRow, err error) {
	if err := r.refresh(ctx, co); err != nil {
		return nil, err
	}
	err = r.store.Read(ctx, co, func(tx Tx) error {
		rows, err = tx.JobRows()
		return err
	})
	return rows, err
}

// Unread counts the jobs that Jobs would have to read before it answers: those whose view is missing or old.
func (r *Replica) Unread(ctx context.Context, co string) (n int, err error) {
	err = r.store.Read(ctx, co, func(tx Tx) error {
		stale, err := tx.Stale()
		n = len(stale)
		return err
	})
	return n, err
}

// Mark is the state of a job in the record: when total and revision are as before, so is the job. It is zero where nothing
// is here.
func (r *Replica) Mark(ctx context.Context, co, job string) (m Mark, err error) {
	err = r.store.Read(ctx, co, func(tx Tx) error {
		m, err = tx.Mark(job)
		return err
	})
	return m, err
}

// FindSheet finds the surface that a sheet's readable code stands for.
func (r *Replica) FindSheet(ctx context.Context, co, code string) (job, surface string, err error) {
	if err := r.refresh(ctx, co); err != nil {
		return "", "", err
	}
	err = r.store.Read(ctx, co, func(tx Tx) error {
		job, surface, err = tx.Sheet(strings.ToUpper(code))
		return err
	})
	return job, surface, err
}

// refresh makes the views that are missing or were made of fewer entries. A view is never written with the entries, so
// that saving waits for nothing else; it says itself what it was made of, so an old one can't pass for the present.
func (r *Replica) refresh(ctx context.Context, co string) error {
	var stale []Mark
	err := r.store.Read(ctx, co, func(tx Tx) (err error) {
		stale, err = tx.Stale()
		return err
	})
	if err != nil || len(stale) == 0 {
		return err
	}
	// In portions: whoever has no patience for all of them leaves behind what was done.
	for part := range slices.Chunk(stale, viewsAtOnce) {
		views := make([]View, 0, len(part))
		for _, m := range part {
			v, err := r.view(ctx, co, m.Job)
			if err != nil {
				return err
			}
			views = append(views, v)
		}
		if err := r.store.Write(ctx, co, func(tx Tx) error {
			for _, v := range views {
				if err := tx.PutView(v); err != nil {
					return err
				}
			}
			return nil
		}); err != nil {
			return err
		}
	}
	return nil
}

// view makes the view of a job. A job that was not in memory is not kept there: after a first pull these are all jobs of the firm.
func (r *Replica) view(ctx context.Context, co, job string) (View, error) {
	kept := r.inMemory(co, job)
	j, total, rev, err := r.jobAt(ctx, co, job)
	if err != nil {
		return View{}, err
	}
	if !kept {
		r.letGo(co, job)
	}
	return viewOf(j, total, rev), nil
}

// viewsAtOnce is how many views are written in one transaction.
const viewsAtOnce = 32

func viewOf(j *jobs.Job, total, rev int64) View {
	v := View{Job: j.ID, Total: total, Rev: rev, Name: j.Name, Site: j.Site, Sheets: map[string]string{}}
	for _, s := range j.Surfaces {
		v.Sheets[jobs.SheetCode(j.ID, s.Code)] = s.Code
	}
	return v
}

// Rebuilt is what Rebuild did.
type Rebuilt struct {
	Jobs int
	Hash jobs.Hash // of all views, before and after
}

// Rebuild makes all views anew from the entries and counts the marks again. It fails if anything comes out other than it
// was.
func (r *Replica) Rebuild(ctx context.Context) (Rebuilt, error) {
	var all Rebuilt
	cos, err := r.store.Companies(ctx)
	if err != nil {
		return all, err
	}
	sum := sha256.New()
	for _, co := range cos {
		if err := r.refresh(ctx, co); err != nil {
			return all, err
		}
		before, n, err := r.hashViews(ctx, co)
		if err != nil {
			return all, err
		}
		r.forgetAll()
		if err := r.store.Write(ctx, co, func(tx Tx) error {
			if err := recount(tx); err != nil {
				return err
			}
			return tx.DropViews()
		}); err != nil {
			return all, fmt.Errorf("rebuild company %s: %w", co, err)
		}
		if err := r.refresh(ctx, co); err != nil {
			return all, err
		}
		after, _, err := r.hashViews(ctx, co)
		if err != nil {
			return all, err
		}
		if after != before {
			return all, refuse(ErrBroken, "the views of company %s were not those of its entries; they are now", co)
		}
		sum.Write(after[:])
		all.Jobs += n
	}
	all.Hash = jobs.Hash(sum.Sum(nil))
	return all, nil
}

func (r *Replica) forgetAll() {
	r.mu.Lock()
	defer r.mu.Unlock()
	clear(r.folds)
}

func (r *Replica) hashViews(ctx context.Context, co string) (h jobs.Hash, n int, err error) {
	d := sha256.New()
	err = r.store.Read(ctx, co, func(tx Tx) error {
		views, err := tx.Views()
		for _, v := range views {
			fmt.Fprintf(d, "%q %d %d %q %q\n", v.Job, v.Total, v.Rev, v.Name, v.Site)
			for _, code := range slices.Sorted(maps.Keys(v.Sheets)) {
				fmt.Fprintf(d, "%q %q\n", code, v.Sheets[code])
			}
		}
		n = len(views)
		return err
	})
	return jobs.Hash(d.Sum(nil)), n, err
}

// recount compares count and sum of every job with its entries.
func recount(tx Tx) error {
	marks, err := tx.Marks(-1)
	if err != nil {
		return err
	}
	for _, m := range marks {
		list, err := tx.Entries(m.Job, 0)
		if err != nil {
			return err
		}
		if err := tally(m, list); err != nil {
			return err
		}
	}
	return nil
}

// tally compares count and sum of a job with its entries.
func tally(m Mark, list []Stored) error {
	var count int64
	var sum jobs.Hash
	var last int64 // places are given once; one may be empty, where an entry was issued again by a successor
	for _, s := range list {
		last = s.Pos
		if s.State == Standing {
			count++
			sum = plus(sum, s.Hash)
		}
	}
	if count != m.Count || sum != m.Sum || last > m.Total {
		return refuse(ErrBroken, "job %s: %d entries stand, %d were counted", m.Job, count, m.Count)
	}
	return nil
}
