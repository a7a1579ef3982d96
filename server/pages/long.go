package pages

import (
	"context"
	"fmt"
	"runtime/debug"
	"sync"
	"sync/atomic"
	"time"
)

// unfetched is for how long a result that nobody fetched is kept.
const unfetched = 10 * time.Minute

// longs is what is done beside the pages because it takes long, by who asked for what.
type longs struct {
	mu   sync.Mutex
	made map[string]*long
}

type long struct {
	done   atomic.Int64 // steps
	of     int
	toEnd  bool // it can't be stopped
	stop   context.CancelFunc
	began  time.Time
	ended  bool // with the two below, under mu of longs
	result any
	err    error
}

// stop ends what is done under a key, and forgets it.
func (l *longs) stop(key string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if now := l.made[key]; now != nil && !now.toEnd {
		now.stop()
		delete(l.made, key)
	}
}

// find is what is done under a key, or nil, and whether it has ended; what has is handed out once.
func (l *longs) find(key string, at time.Time) (now *long, ended bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for k, other := range l.made {
		if other.ended && at.Sub(other.began) > unfetched {
			delete(l.made, k)
		}
	}
	now = l.made[key]
	if now == nil || !now.ended {
		return now, false
	}
	delete(l.made, key)
	return now, true
}

// begin does something of so many steps under a key, unless that is being done already. Each step calls step, which fails once it is
// stopped; what goes on to its end is not.
func (l *longs) begin(ctx context.Context, key string, at time.Time, of int, toEnd bool, do func(ctx context.Context, step func() error) (any, error)) *long {
	l.mu.Lock()
	defer l.mu.Unlock()
	if now := l.made[key]; now != nil {
		return now
	}
	ctx, cancel := context.WithCancel(context.WithoutCancel(ctx))
	now := &long{of: of, toEnd: toEnd, stop: cancel, began: at}
	if l.made == nil {
		l.made = map[string]*long{}
	}
	l.made[key] = now
	go func() {
		defer cancel()
		result, err := caught(func() (any, error) {
			return do(ctx, func() error { now.done.Add(1); return ctx.Err() })
		})
		l.mu.Lock()
		defer l.mu.Unlock()
		now.result, now.err, now.ended = result, err, true
	}()
	return now
}

// far says how far it is.
func (now *long) far(stop string) working {
	done := int(now.done.Load())
	w := working{Done: done, Of: max(done, now.of)}
	if !now.toEnd {
		w.Stop = stop
	}
	return w
}

// caught makes a fault of the program an error: beside a page there is no one else who would keep it from ending the server.
func caught(f func() (any, error)) (result any, err error) {
	defer func() {
		if p := recover(); p != nil {
			result, err = nil, fmt.Errorf("done beside a page: %v\n%s", p, debug.Stack())
		}
	}()
	return f()
}
