package api

import (
	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/sync/wire"
)

// getHello says what this server is and what it speaks.
func (s *Server) getHello(c *fiber.Ctx) error {
	c.Set(fiber.HeaderCacheControl, "no-store")
	return c.JSON(wire.Hello{
		Protocols: []int{wire.Protocol},
		Kinds:     kinds(),
		Limits:    wire.DefaultLimits(),
		Time:      s.now().UnixMilli(),
		ServerKey: s.key,
		KeyID:     s.keyID,
	})
}

func kinds() map[string]int {
	m := map[string]int{}
	for _, k := range jobs.Kinds() {
		m[k] = jobs.KindVersion(k)
	}
	return m
}
