package api

import (
	"bytes"

	"github.com/gofiber/fiber/v2"

	"tacet/sync/wire"
)

// getPull hands on the company's log behind a cursor.
func (s *Server) getPull(c *fiber.Ctx) error {
	cursor, err := wire.ParseCursor(c.Query("cursor"))
	if err != nil {
		return err
	}
	size, err := pageSize(c)
	if err != nil {
		return err
	}
	v, err := s.viewer(c)
	if err != nil {
		return err
	}
	page, err := s.replica.PullFor(c.UserContext(), who(c).Company, v, cursor, size)
	if err != nil {
		return err
	}
	return frames(c, func(b *bytes.Buffer) error { return wire.WritePage(b, page) })
}
