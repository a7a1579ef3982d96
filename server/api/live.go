package api

import (
	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
)

// getLive tells a device as soon as its company's record has something new. What it is, it pulls.
func (s *Server) getLive(c *fiber.Ctx) error {
	if s.live == nil {
		return jobs.ErrNotFound // a server without news; devices look by themselves
	}
	w := who(c)
	return s.live.Serve(c, w.Company, "device "+w.Device)
}
