package api

import (
	"net"
	"net/url"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tacet/sync/wire"
)

// SameSite is a middleware that refuses what a page of another site makes a browser do here. Requests that change nothing pass. Others
// must come from a page of this very origin, which browsers say in Sec-Fetch-Site, and older ones in Origin; a request with neither is
// not from a page at all, and has no cookie that a page of another site could have it send.
func SameSite(c *fiber.Ctx) error {
	switch c.Method() {
	case fiber.MethodGet, fiber.MethodHead, fiber.MethodOptions:
		return c.Next()
	}
	if site := c.Get("Sec-Fetch-Site"); site != "" {
		if site == "same-origin" || site == "none" {
			return c.Next()
		}
		return fiber.ErrForbidden
	}
	origin := c.Get(fiber.HeaderOrigin)
	if origin == "" {
		return c.Next()
	}
	u, err := url.Parse(origin)
	if err != nil || !strings.EqualFold(u.Host, string(c.Request().Host())) {
		return fiber.ErrForbidden
	}
	return c.Next()
}

// OnlyLoopback is a middleware for pages that only this machine may see. A name that some other site's owner points at 127.0.0.1 gets
// nothing, because the Host that the browser sends is then not ours.
func OnlyLoopback(c *fiber.Ctx) error {
	host := string(c.Request().Host())
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	if wire.Loopback(strings.Trim(host, "[]")) {
		return c.Next()
	}
	return fiber.NewError(fiber.StatusMisdirectedRequest)
}
