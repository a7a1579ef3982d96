package api

import (
	"bytes"
	"strconv"

	"github.com/gofiber/fiber/v2"

	"tacet/acoustics"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// getPull hands on the company's log behind a cursor.
func (s *Server) getPull(c *fiber.Ctx) error {
	cursor, err := wire.ParseCursor(c.Query("cursor"))
	if err != nil {
		return err
	}
	size := replica.MaxPage
	if q := c.Query("bytes"); q != "" {
		n, err := strconv.Atoi(q)
		if err != nil || n < 1 {
			return &acoustics.InputError{Field: "bytes", Value: strconv.Quote(q), Range: "a whole number above 0"}
		}
		size = min(max(n, replica.MinPage), replica.MaxPage)
	}
	w := who(c)
	page, err := s.replica.PullFrom(c.UserContext(), w.Company, w.Device, cursor, size)
	if err != nil {
		return err
	}
	return frames(c, func(b *bytes.Buffer) error { return wire.WritePage(b, page) })
}
