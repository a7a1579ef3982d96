package runner

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"testing/synctest"
	"time"

	"tacet/sync/replica"
)

// With the chance taken out the moments of the exchanges are known: arithmetic.
func TestPausesGrowAndShrink(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		var at []time.Duration
		answers := []error{replica.ErrUnreachable, replica.ErrUnreachable, replica.ErrUnreachable, nil, nil,
			&replica.Refusal{Err: replica.ErrBusy, RetryAfter: 20 * time.Second}, nil}
		ctx, stop := context.WithCancel(t.Context())
		r := New(func(context.Context) (replica.Report, error) {
			at = append(at, time.Since(start))
			if len(at) == len(answers) {
				stop()
			}
			return replica.Report{}, answers[len(at)-1]
		}, nil)
		r.Jitter = func(d time.Duration) time.Duration { return d }
		if err := r.Run(ctx); err != nil {
			t.Fatal(err)
		}
		want := []time.Duration{0, 1, 3, 7, 37, 67, 87}
		for i := range want {
			if at[i] != want[i]*time.Second {
				t.Errorf("exchange %d after %v, want %d s", i, at[i], want[i])
			}
		}
	})
}

func TestNowDoesNotWait(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		var at []time.Duration
		ctx, stop := context.WithCancel(t.Context())
		r := New(func(context.Context) (replica.Report, error) {
			at = append(at, time.Since(start))
			if len(at) == 2 {
				stop()
			}
			return replica.Report{}, nil
		}, nil)
		r.Jitter = func(d time.Duration) time.Duration { return d }
		go func() {
			time.Sleep(4 * time.Second)
			r.Now()
			r.Now()
		}()
		if err := r.Run(ctx); err != nil {
			t.Fatal(err)
		}
		if len(at) != 2 || at[1] != 4*time.Second {
			t.Errorf("exchanges at %v, want the second after 4 s", at)
		}
	})
}

func TestRevokedEndsTheLoop(t *testing.T) {
	err := New(func(context.Context) (replica.Report, error) {
		return replica.Report{Waiting: 3}, fmt.Errorf("push: %w", replica.ErrRevoked)
	}, nil).Run(t.Context())
	if !errors.Is(err, replica.ErrRevoked) {
		t.Fatalf("got %v", err)
	}
}

func TestSaysOnlyWhatChanged(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var said []string
		n := 0
		ctx, stop := context.WithCancel(t.Context())
		r := New(func(context.Context) (replica.Report, error) {
			if n++; n == 6 {
				stop()
			}
			switch n {
			case 1, 2:
				return replica.Report{Waiting: 2}, replica.ErrUnreachable
			case 3:
				return replica.Report{Sent: 2}, nil
			}
			return replica.Report{}, nil
		}, func(line string) { said = append(said, line) })
		if err := r.Run(ctx); err != nil {
			t.Fatal(err)
		}
		want := []string{"No connection. Your work is saved here and will be sent later. 2 changes to send.", "All changes sent. Sent 2, received 0."}
		if fmt.Sprint(said) != fmt.Sprint(want) {
			t.Errorf("said %q, want %q", said, want)
		}
	})
}
