// Package pause waits: for so long, or until nobody wants what comes after any more.
package pause

import (
	"context"
	"time"
)

// For waits for d. It is false when ctx ended first.
func For(ctx context.Context, d time.Duration) bool {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return false
	case <-timer.C:
		return ctx.Err() == nil // both may have come by now
	}
}
