package live

import (
	"context"
	"fmt"
	"log/slog"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"tacet/sync/pause"
)

// channel is the name under which servers on one database tell each other.
const channel = "tacet_news"

// How servers tell each other: at most twenty times a second, whatever comes in, and each time of so many companies as fit into
// one message of PostgreSQL, which takes 8,000 bytes.
const (
	tellEvery = 50 * time.Millisecond
	tellMost  = 100
)

// How long is waited before the database is asked for a line again: ever longer, while it does not answer.
const (
	firstWait   = 100 * time.Millisecond
	longestWait = 10 * time.Second
)

// A line on which nothing comes for so long is tried, and the positions are compared: behind a pool that passes no news this
// is how they come.
const (
	lookEvery = 30 * time.Second
	pingTime  = 5 * time.Second
)

// Across passes the news of one server on to the others on its database, and theirs to its hub.
//
// The news are told after the commit and outside its transaction: a transaction that notifies holds a lock of the whole
// database while it commits, and one firm would wait for another. A server that dies in between tells nobody; the others see it
// when they next look.
type Across struct {
	hub  *Hub
	dsn  string
	log  *slog.Logger
	more chan struct{}

	mu      sync.Mutex
	pending map[string]int64
}

// NewAcross returns what passes news on. The DSN must lead to the database itself or to a pool that gives a connection for as
// long as it is held: one that changes connections between transactions passes no news, and all look by themselves.
func NewAcross(h *Hub, dsn string, log *slog.Logger) *Across {
	return &Across{hub: h, dsn: dsn, log: log, more: make(chan struct{}, 1), pending: map[string]int64{}}
}

// Tell passes on that a company's record goes to end. It never waits.
func (a *Across) Tell(company string, end int64) {
	a.mu.Lock()
	a.pending[company] = max(a.pending[company], end)
	a.mu.Unlock()
	select {
	case a.more <- struct{}{}:
	default:
	}
}

// Run passes news on until ctx ends. When a line breaks it is made anew, and what may have been missed is compared.
func (a *Across) Run(ctx context.Context) {
	var both sync.WaitGroup
	both.Go(func() { a.keep(ctx, "hear", a.hear) })
	both.Go(func() { a.keep(ctx, "tell", a.tell) })
	both.Wait()
}

// keep holds a line, and makes it anew when it breaks.
func (a *Across) keep(ctx context.Context, what string, use func(context.Context, *pgx.Conn, func()) error) {
	wait := firstWait
	for ctx.Err() == nil {
		err := a.line(ctx, func(c *pgx.Conn) error { return use(ctx, c, func() { wait = firstWait }) })
		if ctx.Err() != nil {
			return
		}
		a.log.Warn("news between servers", "line", what, "error", err.Error(), "again_ms", wait.Milliseconds())
		if !pause.For(ctx, wait) {
			return
		}
		wait = min(2*wait, longestWait)
	}
}

func (a *Across) line(ctx context.Context, use func(*pgx.Conn) error) error {
	c, err := pgx.Connect(ctx, a.dsn)
	if err != nil {
		return fmt.Errorf("connect: %w", err)
	}
	defer func() {
		end, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer cancel()
		_ = c.Close(end) // it is given up in any case
	}()
	return use(c)
}

// hear listens, and first compares: what was told before the line was there was not heard.
func (a *Across) hear(ctx context.Context, c *pgx.Conn, works func()) error {
	if _, err := c.Exec(ctx, "LISTEN "+channel); err != nil {
		return fmt.Errorf("listen: %w", err)
	}
	if err := a.hub.look(ctx); err != nil {
		return fmt.Errorf("compare positions: %w", err)
	}
	works()
	for {
		n, err := await(ctx, c)
		if err != nil {
			return err
		}
		if n == nil {
			// Nobody said anything for a while: is the line alive, and was nothing missed?
			if err := a.hub.look(ctx); err != nil {
				return fmt.Errorf("compare positions: %w", err)
			}
			continue
		}
		for line := range strings.Lines(n.Payload) {
			if co, end, ok := parseLine(line); ok {
				a.hub.Announce(co, end)
			}
		}
	}
}

// await waits for one piece of news, and returns none after a while in which the line proved to be alive.
func await(ctx context.Context, c *pgx.Conn) (*pgconn.Notification, error) {
	wait, cancel := context.WithTimeout(ctx, lookEvery)
	defer cancel()
	n, err := c.WaitForNotification(wait)
	if err == nil || ctx.Err() != nil || wait.Err() == nil || c.IsClosed() {
		return n, err
	}
	ping, end := context.WithTimeout(ctx, pingTime)
	defer end()
	return nil, c.Ping(ping)
}

func parseLine(line string) (company string, end int64, ok bool) {
	company, number, ok := strings.Cut(strings.TrimSpace(line), " ")
	end, err := strconv.ParseInt(number, 10, 64)
	return company, end, ok && err == nil
}

// tell sends what is pending, many companies at once.
func (a *Across) tell(ctx context.Context, c *pgx.Conn, works func()) error {
	for {
		if told := a.take(); len(told) > 0 {
			var b strings.Builder
			for co, end := range told {
				fmt.Fprintf(&b, "%s %d\n", co, end)
			}
			if _, err := c.Exec(ctx, "SELECT pg_notify($1, $2)", channel, b.String()); err != nil {
				a.putBack(told)
				return fmt.Errorf("notify: %w", err)
			}
			works()
			if !pause.For(ctx, tellEvery) {
				return ctx.Err()
			}
			continue
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-a.more:
		}
	}
}

func (a *Across) take() map[string]int64 {
	a.mu.Lock()
	defer a.mu.Unlock()
	told := map[string]int64{}
	for co, end := range a.pending {
		if len(told) == tellMost {
			break
		}
		told[co] = end
		delete(a.pending, co)
	}
	return told
}

func (a *Across) putBack(told map[string]int64) {
	a.mu.Lock()
	defer a.mu.Unlock()
	for co, end := range told {
		a.pending[co] = max(a.pending[co], end)
	}
}
