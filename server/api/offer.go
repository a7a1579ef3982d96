package api

import (
	"bytes"

	"github.com/gofiber/fiber/v2"

	"tacet/sync/wire"
)

// postOffer takes back what this server has lost of other devices.
func (s *Server) postOffer(c *fiber.Ctx) error {
	raw, err := body(c, batchBody)
	if err != nil {
		return err
	}
	batch, err := wire.ReadBatch(bytes.NewReader(raw))
	if err != nil {
		return err
	}
	w := who(c)
	a, err := s.replica.TakeOffer(c.UserContext(), w.Company, w.Device, batch)
	if err != nil {
		return err
	}
	return frames(c, func(b *bytes.Buffer) error { return wire.WriteAnswer(b, a) })
}

// postAside keeps what a revoked device has not sent. Nobody signs in for it: the device's seals are its word.
func (s *Server) postAside(c *fiber.Ctx) error {
	if err := s.accounts.MayLeaveAside(c.UserContext(), s.address(c), ""); err != nil {
		return err
	}
	raw, err := body(c, batchBody)
	if err != nil {
		return err
	}
	batch, err := wire.ReadBatch(bytes.NewReader(raw))
	if err != nil {
		return err
	}
	device, err := s.replica.AsideFrom(c.UserContext(), batch)
	if err != nil {
		return err
	}
	if err := s.accounts.MayLeaveAside(c.UserContext(), "", device); err != nil {
		return err
	}
	a, err := s.replica.FileAside(c.UserContext(), batch)
	if err != nil {
		return err
	}
	return frames(c, func(b *bytes.Buffer) error { return wire.WriteAnswer(b, a) })
}
