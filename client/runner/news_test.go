package runner

import (
	"context"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"tacet/sync/pause"
	"tacet/sync/replica"
)

// listened runs a loop with the chance taken out and returns when it exchanged, in tenths of seconds. What is said on a stream
// is a position and when.
func listened(t *testing.T, until time.Duration, stream func(ctx context.Context, n int, heard func(int64)) error, answer func() error, here func() int64) (at []int64, streams int) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		ctx, stop := context.WithTimeout(t.Context(), until)
		defer stop()
		r := New(func(context.Context) (replica.Report, error) {
			at = append(at, int64(time.Since(start)/(100*time.Millisecond)))
			return replica.Report{}, answer()
		}, nil)
		r.Jitter = func(d time.Duration) time.Duration { return d }
		r.News = func(ctx context.Context, heard func(int64)) error {
			streams++
			return stream(ctx, streams, heard)
		}
		r.Position = func(context.Context) (int64, error) { return here(), nil }
		if err := r.Run(ctx); err != nil {
			t.Fatal(err)
		}
	})
	return at, streams
}

func fine() error { return nil }

// after waits in a stream.
func after(ctx context.Context, d time.Duration) { pause.For(ctx, d) }

// What the server tells is fetched at once; what this device has already is not asked for again.
func TestNewsAreFetchedAtOnce(t *testing.T) {
	here := int64(5)
	at, streams := listened(t, 20*time.Second, func(ctx context.Context, _ int, heard func(int64)) error {
		heard(5)
		after(ctx, 4*time.Second)
		heard(6) // at 4 s
		after(ctx, time.Second)
		here = 6
		heard(6)
		after(ctx, time.Hour)
		return nil
	}, fine, func() int64 { return here })
	if !slices.Equal(at, []int64{0, 45}) || streams != 1 { // Spread is half a second
		t.Errorf("exchanges at %v tenths of a second over %d streams, want 0 and 45 over one", at, streams)
	}
}

// A stream that ends is asked for again; what came between two streams is heard at the beginning of the next.
func TestNewsBetweenStreamsAreHeard(t *testing.T) {
	at, streams := listened(t, 20*time.Second, func(ctx context.Context, n int, heard func(int64)) error {
		if n == 1 {
			heard(1)
			after(ctx, 10*time.Second)
			return nil
		}
		heard(2) // a second later
		after(ctx, time.Hour)
		return nil
	}, fine, func() int64 { return 1 })
	if !slices.Equal(at, []int64{0, 115}) || streams != 2 {
		t.Errorf("exchanges at %v tenths of a second over %d streams, want 0 and 115 over two", at, streams)
	}
}

// Without news the loop looks by itself every half minute, and a server that has none is asked ever more rarely.
func TestWithoutNewsItLooks(t *testing.T) {
	at, streams := listened(t, 599*time.Second, func(context.Context, int, func(int64)) error { return replica.ErrUnreachable }, fine, func() int64 { return 0 })
	if len(at) != 20 || at[1] != 300 || at[19] != 5700 {
		t.Errorf("exchanges at %v tenths of a second, want every 300", at)
	}
	// 1, 2, 4 … 256 s, then 5 min: at 0, 1, 3, 7, 15, 31, 63, 127, 255, 511 s.
	if streams != 10 {
		t.Errorf("%d streams in ten minutes, want 10", streams)
	}
}

// A stream that ends at once is no stream.
func TestStreamsThatDoNotHold(t *testing.T) {
	_, streams := listened(t, 5*time.Minute, func(_ context.Context, _ int, heard func(int64)) error { heard(1); return nil }, fine, func() int64 { return 1 })
	if streams > 10 {
		t.Errorf("%d streams in five minutes", streams)
	}
}

// News do not shorten the wait that a failure asks for.
func TestNewsDoNotHurryAfterAFailure(t *testing.T) {
	at, _ := listened(t, 100*time.Second, func(ctx context.Context, _ int, heard func(int64)) error {
		for n := int64(1); ctx.Err() == nil; n++ {
			heard(n)
			after(ctx, time.Second)
		}
		return nil
	}, func() error { return &replica.Refusal{Err: replica.ErrBusy, RetryAfter: time.Minute} }, func() int64 { return 0 })
	if !slices.Equal(at, []int64{0, 600}) {
		t.Errorf("exchanges at %v tenths of a second, want 0 and 600", at)
	}
}
