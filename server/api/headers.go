package api

import (
	"time"

	"github.com/gofiber/fiber/v2"

	"tacet/server/accounts"
	"tacet/sync/wire"
)

// contentPolicy lets a page use what comes from this server and nothing else, run no inline script, and be framed by nobody.
const contentPolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; " +
	"form-action 'self'; frame-ancestors 'none'; base-uri 'none'; object-src 'none'"

// SecureHeaders is a middleware that puts on every answer what keeps browsers from doing more with it than it is meant for.
func SecureHeaders(c *fiber.Ctx) error {
	c.Set(fiber.HeaderContentSecurityPolicy, contentPolicy)
	c.Set(fiber.HeaderXContentTypeOptions, "nosniff")
	c.Set(fiber.HeaderReferrerPolicy, "same-origin")
	c.Set(fiber.HeaderXFrameOptions, "DENY")
	c.Set("Cross-Origin-Opener-Policy", "same-origin")
	c.Set("Cross-Origin-Resource-Policy", "same-origin")
	return c.Next()
}

// serverHeaders names the server's key on every answer, so that a captive portal is never taken for this server.
func (s *Server) serverHeaders(c *fiber.Ctx) error {
	c.Set(wire.HeaderServer, s.keyID)
	c.Set("Tacet-Request", requestID(c))
	if s.secure {
		c.Set(fiber.HeaderStrictTransportSecurity, "max-age=31536000; includeSubDomains")
	}
	return c.Next()
}

// logRequest writes one line for each request: what, how it ended, how long it took, who. The route is logged and not the path or the
// query, so that no code, cursor or token gets into a log.
func (s *Server) logRequest(c *fiber.Ctx) error {
	start := time.Now()
	err := c.Next()
	if err != nil {
		// Answered here and not by fiber afterwards, so that the line below knows how it ended.
		if err := s.fail(c, err); err != nil {
			return err
		}
	}
	attrs := []any{"request", requestID(c), "method", c.Method(), "route", c.Route().Path,
		"status", c.Response().StatusCode(), "ms", time.Since(start).Milliseconds(), "address", s.address(c)}
	if w, ok := c.Locals(localWho).(accounts.Who); ok {
		attrs = append(attrs, "company", w.Company, "person", w.Person, "device", w.Device)
	}
	s.log.Info("request", attrs...)
	s.metrics.Request(c.Method(), c.Route().Path, c.Response().StatusCode(), time.Since(start))
	return nil
}
