package pages

import (
	"context"

	"tacet/jobs"
)

// photosAtOnce is up to how many photos a paper is made while its reader waits; one with more is made beside the page, which says how
// far it is and lets it be stopped. It is a number and not a time, so that the same job is always answered in the same way.
const photosAtOnce = 12

type photoOf func(context.Context, jobs.Hash) ([]byte, error)

// photosOf counts the pictures of a job.
func photosOf(j *jobs.Job) int {
	all := map[jobs.Hash]bool{}
	for _, r := range j.Records {
		for _, h := range r.Blobs {
			all[h] = true
		}
	}
	return len(all)
}

// long makes a paper of a job, or says how far it is. It gives nothing where its reader stopped it; to is where they are sent then.
func (v *visit) long(j *jobs.Job, to string, write func(context.Context, photoOf) ([]byte, error), send func([]byte) error) error {
	r, co := v.deps.Record, v.who.Company
	photo := func(ctx context.Context, h jobs.Hash) ([]byte, error) { return r.Photo(ctx, co, j.ID, h) }
	of := photosOf(j)
	if of <= photosAtOnce {
		data, err := write(v.ctx, photo)
		if err != nil {
			return err
		}
		return send(data)
	}
	m, err := r.Mark(v.ctx, co, j.ID)
	if err != nil {
		return err
	}
	key := v.who.Person + " " + v.c.Path() + " " + itoa(int(m.Total)) + " " + itoa(int(m.Rev))
	if v.c.Query("stop") != "" {
		v.longs.stop(key)
		return v.see(to)
	}
	now, ended := v.longs.find(key, v.deps.Now())
	if now == nil {
		now = v.longs.begin(v.ctx, key, v.deps.Now(), of, false, func(ctx context.Context, step func() error) (any, error) {
			return write(ctx, func(ctx context.Context, h jobs.Hash) ([]byte, error) {
				if err := step(); err != nil {
					return nil, err
				}
				return photo(ctx, h)
			})
		})
	}
	switch {
	case !ended:
		far := now.far(v.c.Path() + "?stop=1")
		far.Paper = true
		return far
	case now.err != nil:
		return now.err
	}
	return send(now.result.([]byte))
}
