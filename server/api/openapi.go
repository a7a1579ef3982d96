package api

import (
	_ "embed"

	"github.com/gofiber/fiber/v2"
)

//go:embed openapi.json
var openAPI []byte

// getOpenAPI serves the description of the protocol. A test compares it with the routes that there are.
func (s *Server) getOpenAPI(c *fiber.Ctx) error {
	c.Set(fiber.HeaderContentType, fiber.MIMEApplicationJSON)
	return c.Send(openAPI)
}
