package app

import (
	"context"
	"time"

	"tacet/server/live"
	"tacet/sync/replica"
)

// LiveConfig says how news are told; the zero value is the usual.
type LiveConfig struct {
	Life time.Duration // of one stream
	Beat time.Duration // between two signs of life
}

// news makes the hub that wakes whoever listens, and has the store tell it what is committed here. Where other servers may
// use the same database, it returns what passes the news between them, which has to be run; nil elsewhere.
func (r *Running) news(c Config) *live.Across {
	r.live = live.New(live.Config{Position: r.position, Life: c.Live.Life, Beat: c.Live.Beat})
	if c.Database == "" {
		r.house.store.OnCommit(r.live.Announce)
		return nil
	}
	across := live.NewAcross(r.live, c.Database, c.Log)
	r.house.store.OnCommit(func(company string, end int64) {
		r.live.Announce(company, end)
		across.Tell(company, end)
	})
	return across
}

// position is how far a company's record goes.
func (r *Running) position(ctx context.Context, company string) (end int64, err error) {
	err = r.Store.Read(ctx, company, func(tx replica.Tx) error {
		seq, err := tx.Seq()
		end = seq.N
		return err
	})
	return end, err
}
