package live

import (
	"bufio"
	"context"
	"time"

	"github.com/gofiber/fiber/v2"

	"tacet/sync/wire"
)

// sendTime is how long the other side may take to accept a few bytes. Who is slower is dropped and may come again.
const sendTime = 10 * time.Second

const (
	retryAfter  = time.Second // how soon a browser comes again when a stream has ended
	replacedFor = time.Minute // how soon it does where newer streams took its place, so that open pages do not push each other out all the time
)

// Serve answers with a stream of server-sent events: the position at once, then each new one, and a sign of life in between.
// After a while the stream ends, so that whoever comes again is asked again who they are. What it says is the position alone.
func (h *Hub) Serve(c *fiber.Ctx, company, account string) error {
	l, err := h.Join(company, account)
	if err != nil {
		return err
	}
	// Asked for after joining: what comes in between wakes the listener.
	end, err := h.At(c.UserContext(), company)
	if err != nil {
		l.Leave()
		return err
	}
	c.Set(fiber.HeaderContentType, wire.MediaNews)
	c.Set(fiber.HeaderCacheControl, "no-store")
	c.Set("X-Accel-Buffering", "no") // proxies that gather answers would hold the news back
	conn := c.Context().Conn()
	c.Context().SetBodyStreamWriter(func(w *bufio.Writer) {
		defer l.Leave()
		// The time limit of an answer counts from its first byte, which is no limit for a stream: each piece gets its own.
		say := func(write func() error) bool {
			return conn.SetWriteDeadline(time.Now().Add(sendTime)) == nil && write() == nil && w.Flush() == nil
		}
		if !say(func() error { return wire.WriteNewsStart(w, retryAfter, end) }) {
			return
		}
		life, beat := time.NewTimer(h.config.Life), time.NewTicker(h.config.Beat)
		defer life.Stop()
		defer beat.Stop()
		for {
			fine := true
			select {
			case <-life.C:
				return
			case <-beat.C:
				fine = say(func() error { return wire.WriteNewsBeat(w) })
			case <-l.woken:
				if h.ended() {
					return
				}
				if l.Replaced() {
					say(func() error { return wire.WriteNewsPause(w, replacedFor) })
					return
				}
				now, err := h.At(context.Background(), company) // known: it was announced
				if err != nil {
					return
				}
				fine = now == end || say(func() error { return wire.WriteNews(w, now) })
				end = now
			}
			if !fine {
				return
			}
		}
	})
	return nil
}
