package pause_test

import (
	"context"
	"fmt"
	"testing"
	"testing/synctest"
	"time"

	"tacet/sync/pause"
)

// Something is tried three times, ever more rarely, unless somebody stops it.
func ExampleFor() {
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	for try := 1; try <= 3; try++ {
		if try == 2 {
			stop()
		}
		fmt.Println("try", try)
		if !pause.For(ctx, time.Duration(try)*time.Millisecond) {
			fmt.Println("stopped")
			break
		}
	}
	// Output:
	// try 1
	// try 2
	// stopped
}

// The whole time is waited, or the time until somebody stops it.
func TestFor(t *testing.T) {
	for _, c := range []struct {
		name                 string
		pause, stopped, took time.Duration
		whole                bool
	}{
		{"nobody stops it", time.Hour, 0, time.Hour, true},
		{"stopped on the way", time.Hour, time.Minute, time.Minute, false},
		{"stopped later", time.Minute, time.Hour, time.Minute, true},
		{"no time at all", 0, 0, 0, true},
	} {
		synctest.Test(t, func(t *testing.T) {
			ctx := t.Context()
			if c.stopped > 0 {
				var cancel context.CancelFunc
				ctx, cancel = context.WithTimeout(ctx, c.stopped)
				defer cancel()
			}
			began := time.Now()
			whole := pause.For(ctx, c.pause)
			if took := time.Since(began); whole != c.whole || took != c.took {
				t.Errorf("%s: %v after %v, want %v after %v", c.name, whole, took, c.whole, c.took)
			}
		})
	}
	stopped, stop := context.WithCancel(t.Context())
	stop()
	for range 100 { // where both are there, which is taken is drawn
		if pause.For(stopped, 0) {
			t.Fatal("a pause of no length goes on for who has stopped")
		}
	}
}
