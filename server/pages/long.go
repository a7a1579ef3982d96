package pages

import (
	"context"
	"fmt"
	"runtime/debug"
	"sync"
	"sync/atomic"
	"time"

	"tacet/jobs"
)

// photosAtOnce is up to how many photos a paper is made while its reader waits; one with more is made beside the page, which says how
// far it is and lets it be stopped. It is a number and not a time, so that the same job is always answered in the same way.
const photosAtOnce = 12

// unfetched is for how long a paper that nobody fetched is kept.
const unfetched = 10 * time.Minute

// longs are the papers that are being made, by who asked for what at which state of the job.
type longs struct {
	mu   sync.Mutex
	made map[string]*long
}

type long struct {
	done  atomic.Int64 // photos
	stop  context.CancelFunc
	began time.Time
	ended bool // with the two below, under mu of longs
	data  []byte
	err   error
}

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
	now, data, err := v.longs.of(v.ctx, key, v.c.Query("stop") != "", v.deps.Now(), photo, write)
	switch {
	case err != nil:
		return err
	case now == nil:
		return v.see(to)
	case data != nil:
		return send(data)
	}
	done := int(now.done.Load())
	return working{Done: done, Of: max(done, of), Paper: true, Stop: v.c.Path() + "?stop=1"}
}

// of finds what is being made, begins it, or stops it; what is made is handed out once.
func (l *longs) of(ctx context.Context, key string, stop bool, at time.Time, photo photoOf, write func(context.Context, photoOf) ([]byte, error)) (*long, []byte, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for k, other := range l.made {
		if other.ended && at.Sub(other.began) > unfetched {
			delete(l.made, k)
		}
	}
	now := l.made[key]
	switch {
	case stop:
		if now != nil {
			now.stop()
			delete(l.made, key)
		}
		return nil, nil, nil
	case now != nil && now.ended:
		delete(l.made, key)
		return now, now.data, now.err
	case now != nil:
		return now, nil, nil
	}
	ctx, cancel := context.WithCancel(context.WithoutCancel(ctx))
	now = &long{stop: cancel, began: at}
	if l.made == nil {
		l.made = map[string]*long{}
	}
	l.made[key] = now
	go func() {
		defer cancel()
		data, err := caught(func() ([]byte, error) {
			return write(ctx, func(ctx context.Context, h jobs.Hash) ([]byte, error) {
				if err := ctx.Err(); err != nil {
					return nil, err
				}
				now.done.Add(1)
				return photo(ctx, h)
			})
		})
		l.mu.Lock()
		defer l.mu.Unlock()
		now.data, now.err, now.ended = data, err, true
	}()
	return now, nil, nil
}

// caught makes a fault of the program an error: beside a page there is no one else who would keep it from ending the server.
func caught(f func() ([]byte, error)) (data []byte, err error) {
	defer func() {
		if p := recover(); p != nil {
			data, err = nil, fmt.Errorf("make a paper: %v\n%s", p, debug.Stack())
		}
	}()
	return f()
}
