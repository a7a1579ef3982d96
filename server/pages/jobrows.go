package pages

import (
	"context"
	"log/slog"
	"sync"

	"github.com/gofiber/fiber/v2"

	"tacet/sync/replica"
)

// jobRows is the list of the firm's jobs, as listReady lets it be. Who sent a form waits for the list itself: a page that asks again would
// lose what was filled in.
func (v *visit) jobRows() ([]replica.JobRow, error) {
	if v.c.Method() == fiber.MethodGet {
		if err := listReady(v.ctx, v.deps.Record, v.who.Company, v.deps.Log); err != nil {
			return nil, err
		}
	}
	return v.deps.Record.Jobs(v.ctx, v.who.Company)
}

// listReadings are the firms whose list of jobs is being read.
var listReadings sync.Map

// listReading is one of them: how many jobs there were to read, and how it ended where it ended badly.
type listReading struct {
	of  int
	mu  sync.Mutex
	err error
}

// listReady is nil where the list of jobs can be had at once. Where many of them arrived since it was last asked for, they are read beside
// it, and the error says how far that is: no page is silent meanwhile.
func listReady(ctx context.Context, r *replica.Replica, company string, log *slog.Logger) error {
	unread, err := r.Unread(ctx, company)
	if err != nil || unread <= readAtOnce {
		return err
	}
	key := keptKey{r, company}
	got, already := listReadings.LoadOrStore(key, &listReading{of: unread})
	now := got.(*listReading)
	now.mu.Lock()
	err = now.err
	now.mu.Unlock()
	if err != nil {
		listReadings.Delete(key)
		return err
	}
	if !already {
		go func() {
			if _, err := r.Jobs(context.WithoutCancel(ctx), company); err != nil {
				log.Warn("reading the list of jobs ended early", "error", err.Error())
				now.mu.Lock()
				now.err = err // the next page says it and tries again
				now.mu.Unlock()
				return
			}
			listReadings.Delete(key)
		}()
	}
	return working{Done: max(0, now.of-unread), Of: max(now.of, unread)}
}
