package api

import (
	"net"
	"net/http/httptest"
	"net/netip"
	"testing"

	"github.com/gofiber/fiber/v2"
)

// Whatever a stranger writes into the header, without a proxy in between their address is their own, and through one it is an address.
func FuzzForwardedFor(f *testing.F) {
	for _, s := range []string{"", "6.6.6.6", "6.6.6.6, 10.0.0.5", ",,,", "::1%eth0", "\xff"} {
		f.Add(s)
	}
	s := &Server{proxies: []netip.Prefix{netip.MustParsePrefix("10.0.0.0/24")}}
	f.Fuzz(func(t *testing.T, header string) {
		for _, peer := range []string{"192.0.2.7:1", "10.0.0.5:1"} {
			var got string
			app := fiber.New(fiber.Config{Immutable: true})
			app.Get("/", func(c *fiber.Ctx) error {
				c.Context().SetRemoteAddr(net.TCPAddrFromAddrPort(netip.MustParseAddrPort(peer)))
				c.Request().Header.Set(fiber.HeaderXForwardedFor, header)
				got = s.address(c)
				return nil
			})
			if _, err := app.Test(httptest.NewRequest("GET", "/", nil), -1); err != nil {
				t.Fatal(err)
			}
			if _, err := netip.ParseAddr(got); err != nil || peer == "192.0.2.7:1" && got != "192.0.2.7" {
				t.Errorf("%q from %s gives %q", header, peer, got)
			}
		}
	})
}
