package api

import "github.com/gofiber/fiber/v2"

// getHealth says that the process is there.
func (s *Server) getHealth(c *fiber.Ctx) error {
	return answer(c, fiber.Map{"status": "ok"})
}

// getReady says whether requests can be served: whoever balances load asks this.
func (s *Server) getReady(c *fiber.Ctx) error {
	if err := s.ready(c.UserContext()); err != nil {
		s.log.Error("not ready", "request", requestID(c), "error", err.Error())
		c.Status(fiber.StatusServiceUnavailable)
		return answer(c, fiber.Map{"status": "not ready"})
	}
	return answer(c, fiber.Map{"status": "ready"})
}
