// Package runner is the loop that keeps a home in step with its server: it sends what waits and fetches what is new, at
// once when asked, every half minute otherwise, and ever more rarely while nothing answers. It is used by "client sync"
// and behind the local pages.
package runner

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"time"

	"tacet/sync/replica"
)

// How long the loop waits.
const (
	Every    = 30 * time.Second // between exchanges that went well
	Shortest = time.Second      // after the first failure
	Longest  = 5 * time.Minute  // after many
)

// Runner is the loop. Exchange is one exchange; Say, if set, gets one line when how it goes has changed.
type Runner struct {
	Exchange func(context.Context) (replica.Report, error)
	Say      func(line string)
	Jitter   func(time.Duration) time.Duration // tests take the chance out; nil draws it

	now chan struct{}
}

// New returns a loop that has not started.
func New(exchange func(context.Context) (replica.Report, error), say func(string)) *Runner {
	return &Runner{Exchange: exchange, Say: say, now: make(chan struct{}, 1)}
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
		if !r.wait(ctx, pause(failures, err)) {
			return nil
		}
	}
}

// wait is false when ctx ended first.
func (r *Runner) wait(ctx context.Context, d time.Duration) bool {
	timer := time.NewTimer(r.jitter(d))
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-r.now:
	case <-timer.C:
	}
	return true
}

// jitter spreads a whole firm that comes back at the same moment: anything from a twentieth of the pause to all of it.
func (r *Runner) jitter(d time.Duration) time.Duration {
	if r.Jitter != nil {
		return r.Jitter(d)
	}
	return d/20 + rand.N(d-d/20)
}

// pause doubles with every failure in a row; a server that says how long to wait is obeyed.
func pause(failures int, err error) time.Duration {
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
		return fmt.Sprintf("This device was removed from the job. %s not sent; all is kept for your supervisor.", changes(rep.Waiting))
	case errors.Is(err, replica.ErrQuota):
		return fmt.Sprintf("%s on this device: the server has no room for more photos. All records are sent; tell the office.", waits(rep.Photos, "photo"))
	case errors.Is(err, replica.ErrTooOld):
		return "Update needed before sending. You can keep recording."
	}
	return "Not sent: " + err.Error()
}

func waits(n int, what string) string {
	if n == 1 {
		return "1 " + what + " waits"
	}
	return fmt.Sprintf("%d %ss wait", n, what)
}

func changes(n int) string {
	if n == 1 {
		return "1 change"
	}
	return fmt.Sprintf("%d changes", n)
}
