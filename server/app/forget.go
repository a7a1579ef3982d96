package app

import (
	"context"
	"log/slog"
	"time"

	"tacet/sync/pause"
)

// forgetEvery is how often a server looks for what goes by itself once it is over its time.
const forgetEvery = 24 * time.Hour

// ForgetConfig says by which clock a server forgets; the zero one is the usual.
type ForgetConfig struct {
	Now   func() time.Time // nil for the clock of the machine
	Every time.Duration
}

// forgetDaily forgets what goes by itself, when the server starts and each day after, and tells in the log how much that was.
func (r *Running) forgetDaily(ctx context.Context, every time.Duration, now func() time.Time, log *slog.Logger) {
	desk := r.house.desk()
	if now != nil {
		desk.Now = now
	}
	for going := true; going; going = pause.For(ctx, every) {
		gone, err := desk.Daily(ctx)
		for _, g := range gone {
			if g.Left {
				log.Warn("over its time, and whoever ordered that it goes is no owner any more", "company", g.Company, "class", g.Class, "days", g.Days, "person", g.Owner)
				continue
			}
			log.Info("over its time", "company", g.Company, "class", g.Class, "days", g.Days, "lines", g.Lines, "person", g.Owner)
		}
		if err != nil && ctx.Err() == nil {
			log.Error("forget what is over its time", "error", err.Error())
		}
	}
}
