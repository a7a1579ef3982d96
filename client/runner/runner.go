// Package runner is the loop that keeps a home in step with its server: it sends what waits and fetches what is new, at
// once when asked or when the server tells that there is something, every half minute otherwise, and ever more rarely while
// nothing answers. It is used by "client sync" and behind the local pages.
package runner

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"sync/atomic"
	"time"

	"tacet/jobs"
	"tacet/sync/pause"
	"tacet/sync/replica"
)

// How long the loop waits.
const (
	Every    = 30 * time.Second       // between exchanges that went well
	Shortest = time.Second            // after the first failure
	Longest  = 5 * time.Minute        // after many
	Spread   = 500 * time.Millisecond // over which a firm's devices come when the server tells all of them something
	Brief    = 5 * time.Second        // a stream of news that lasted less is as good as none
)

// Runner is the loop. Exchange is one exchange; Say, if set, gets one line when how it goes has changed.
type Runner struct {
	Exchange func(context.Context) (replica.Report, error)
	Say      func(line string)
	Jitter   func(time.Duration) time.Duration // tests take the chance out; nil draws it

	// News listens to one stream of the server's news until it ends and hands over how far the company's record goes;
	// Position tells how far it goes here. Both are optional: without them the loop looks by itself.
	News     func(ctx context.Context, heard func(end int64)) error
	Position func(context.Context) (int64, error)

	now   chan struct{}
	news  chan struct{}
	heard atomic.Int64
}

// New returns a loop that has not started.
func New(exchange func(context.Context) (replica.Report, error), say func(string)) *Runner {
	return &Runner{Exchange: exchange, Say: say, now: make(chan struct{}, 1), news: make(chan struct{}, 1)}
}

// Now asks for an exchange at once. It never waits.
func (r *Runner) Now() {
	select {
	case r.now <- struct{}{}:
	default: // one is asked for already
	}
}

// Run loops until ctx ends, which is no error, or until the server has cut the device off.
func (r *Runner) Run(ctx context.Context) error {
	if r.News != nil {
		listening, stop := context.WithCancel(ctx)
		var ended sync.WaitGroup
		ended.Go(func() { r.listen(listening) })
		defer ended.Wait()
		defer stop()
	}
	failures := 0
	said := ""
	for {
		rep, err := r.Exchange(ctx)
		if ctx.Err() != nil {
			return nil
		}
		if line := Line(rep, err); r.Say != nil && line != said && (err != nil || rep.Sent+rep.Received > 0 || failures > 0 || said == "") {
			r.Say(line)
			said = line
		}
		if errors.Is(err, replica.ErrRevoked) {
			return err
		}
		failures++
		if err == nil {
			failures = 0
		}
		if !r.wait(ctx, failures, err) {
			return nil
		}
	}
}

// wait is false when ctx ended first.
func (r *Runner) wait(ctx context.Context, failures int, err error) bool {
	timer := time.NewTimer(r.jitter(pauseAfter(failures, err)))
	defer timer.Stop()
	news := r.news
	if failures > 0 {
		news = nil // who is told to wait, waits
	}
	for {
		select {
		case <-ctx.Done():
			return false
		case <-r.now:
			return true
		case <-timer.C:
			return true
		case <-news:
			if r.behind(ctx) {
				return pause.For(ctx, r.jitter(Spread))
			}
		}
	}
}

// behind tells whether the server's record goes further than ours. What this device sent itself it has already.
func (r *Runner) behind(ctx context.Context) bool {
	if r.Position == nil {
		return true
	}
	here, err := r.Position(ctx)
	return err != nil || here < r.heard.Load()
}

// hear takes in how far the record goes. Each stream begins with it, so what came between two streams is heard too.
func (r *Runner) hear(end int64) {
	r.heard.Store(end)
	select {
	case r.news <- struct{}{}:
	default:
	}
}

// listen keeps a stream of news open, and asks for it ever more rarely while it is refused or does not hold. The exchanges go
// on without it.
func (r *Runner) listen(ctx context.Context) {
	failures := 0
	for {
		start := time.Now()
		err := r.News(ctx, r.hear)
		if errors.Is(err, replica.ErrRevoked) {
			return
		}
		d := Shortest
		if failures++; err == nil && time.Since(start) >= Brief {
			failures = 0
		}
		if failures > 0 {
			d = pauseAfter(failures, err)
		}
		if !pause.For(ctx, r.jitter(d)) {
			return
		}
	}
}

// jitter spreads a whole firm that comes back at the same moment: anything from a twentieth of the pause to all of it.
func (r *Runner) jitter(d time.Duration) time.Duration {
	if r.Jitter != nil {
		return r.Jitter(d)
	}
	return d/20 + rand.N(d-d/20)
}

// pauseAfter doubles with every failure in a row; a server that says how long to wait is obeyed.
func pauseAfter(failures int, err error) time.Duration {
	if failures == 0 {
		return Every
	}
	d := Longest
	if failures < 10 {
		d = min(Longest, Shortest<<(failures-1))
	}
	var ref *replica.Refusal
	if errors.As(err, &ref) && ref.RetryAfter > d {
		d = ref.RetryAfter
	}
	return d
}

// Line says in plain words how an exchange went and what is left: what happened, what is safe, what to do.
func Line(rep replica.Report, err error) string {
	held := ""
	switch {
	case rep.Held == 1:
		held = " 1 record waits for the supervisor; nobody else counts on it yet."
	case rep.Held > 1:
		held = fmt.Sprintf(" %d records wait for the supervisor; nobody else counts on them yet.", rep.Held)
	}
	if rep.PhotoQuota >= 90 {
		held += fmt.Sprintf(" %d%% of the server's room for photos is used; tell the office.", rep.PhotoQuota)
	}
	switch {
	case err == nil && rep.Waiting > 0:
		return fmt.Sprintf("Sent %s. %s still to send.", changes(rep.Sent), changes(rep.Waiting)) + held
	case err == nil:
		return fmt.Sprintf("All changes sent. Sent %d, received %d.", rep.Sent, rep.Received) + held
	case errors.Is(err, replica.ErrUnreachable):
		return fmt.Sprintf("No connection. Your work is saved here and will be sent later. %s to send.", changes(rep.Waiting))
	case errors.Is(err, replica.ErrSignIn):
		return fmt.Sprintf("Sign in to send %s. Nothing is lost.", changes(rep.Waiting))
	case errors.Is(err, replica.ErrRevoked):
		return CutOff(rep.Waiting)
	case errors.Is(err, replica.ErrQuota):
		return fmt.Sprintf("%s on this device: the server has no room for more photos. All records are sent; tell the office.", waits(rep.Photos, "photo"))
	case errors.Is(err, replica.ErrTooOld):
		return "Update needed before sending. You can keep recording."
	}
	return "Not sent: " + err.Error() + ". Everything is kept here."
}

func waits(n int, what string) string {
	if n == 1 {
		return "1 " + what + " waits"
	}
	return fmt.Sprintf("%d %ss wait", n, what)
}

// changes counts them in words.
func changes(n int) string { return jobs.Count(n, "change") }

// CutOff is what a device says that the server takes nothing more from, with so much unsent.
func CutOff(unsent int) string {
	if unsent == 0 {
		return "This device was removed from the job. All that was recorded here had been sent."
	}
	return fmt.Sprintf("This device was removed from the job. %s not sent; all is kept for your supervisor.", changes(unsent))
}
