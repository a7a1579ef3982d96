package api

import (
	"bytes"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// getLanes says what the server has of the device that asks.
func (s *Server) getLanes(c *fiber.Ctx) error {
	w := who(c)
	lanes, err := s.replica.LanesOf(c.UserContext(), w.Company, w.Device)
	if err != nil {
		return err
	}
	return answer(c, lanes)
}

// postPush takes a batch of entries.
func (s *Server) postPush(c *fiber.Ctx) error {
	raw, err := body(c, batchBody)
	if err != nil {
		return err
	}
	batch, err := wire.ReadBatch(bytes.NewReader(raw))
	if err != nil {
		return err
	}
	w := who(c)
	holders, err := s.accounts.Holders(c.UserContext(), w.Company, w.Device)
	if err != nil {
		return err
	}
	p := replica.Pusher{Device: w.Device, Key: w.Key, Person: w.Person, Role: w.Role, Persons: make(map[string]jobs.Role, len(holders))}
	for _, h := range holders {
		p.Persons[h.Person] = h.Role
	}
	a, err := s.replica.Receive(c.UserContext(), w.Company, p, batch)
	if err != nil {
		return err
	}
	count := map[string]int{}
	for _, v := range a.Verdicts {
		if v.Known {
			count["known"]++
		} else {
			count[string(v.State)]++
		}
	}
	for result, n := range count {
		s.metrics.Entries(result, n)
	}
	return frames(c, func(b *bytes.Buffer) error { return wire.WriteAnswer(b, a) })
}

// frames sends a stream of frames. It is written to memory first, so that an error is answered as one.
func frames(c *fiber.Ctx, write func(*bytes.Buffer) error) error {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	c.Set(fiber.HeaderContentType, wire.MediaFrames)
	c.Set(fiber.HeaderCacheControl, "no-store")
	return c.Send(b.Bytes())
}
