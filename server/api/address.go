package api

import (
	"net"
	"net/netip"
	"strings"

	"github.com/gofiber/fiber/v2"
)

// address is where a request came from: the other end of the connection, unless that is a proxy of ours. A proxy adds the address that
// it saw at the end of X-Forwarded-For; what stands before the last address that is no proxy's could have been written by anybody.
func (s *Server) address(c *fiber.Ctx) string {
	peer, _, err := net.SplitHostPort(c.Context().RemoteAddr().String())
	if err != nil {
		return ""
	}
	at := peer
	hops := strings.Split(c.Get(fiber.HeaderXForwardedFor), ",")
	for i := len(hops) - 1; i >= 0 && s.isProxy(at); i-- {
		hop := strings.TrimSpace(hops[i])
		if _, err := netip.ParseAddr(hop); err != nil {
			break
		}
		at = hop
	}
	return at
}

func (s *Server) isProxy(address string) bool {
	ip, err := netip.ParseAddr(address)
	if err != nil {
		return false
	}
	for _, p := range s.proxies {
		if p.Contains(ip.Unmap()) {
			return true
		}
	}
	return false
}
