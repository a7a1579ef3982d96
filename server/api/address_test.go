package api

import (
	"net"
	"net/http/httptest"
	"net/netip"
	"testing"

	"github.com/gofiber/fiber/v2"
)

func TestAddress(t *testing.T) {
	s := &Server{proxies: []netip.Prefix{netip.MustParsePrefix("10.0.0.0/24"), netip.MustParsePrefix("2001:db8::1/128")}}
	for _, c := range []struct{ name, peer, forwarded, want string }{
		{"no proxy", "192.0.2.7:1", "", "192.0.2.7"},
		{"no proxy, and a lie", "192.0.2.7:1", "6.6.6.6", "192.0.2.7"},
		{"our proxy", "10.0.0.5:1", "192.0.2.7", "192.0.2.7"},
		{"our proxy, and a lie before it", "10.0.0.5:1", "6.6.6.6, 192.0.2.7", "192.0.2.7"},
		{"two proxies of ours", "10.0.0.5:1", "6.6.6.6, 192.0.2.7, 10.0.0.9", "192.0.2.7"},
		{"a proxy that says nothing", "10.0.0.5:1", "", "10.0.0.5"},
		{"a proxy that says nonsense", "10.0.0.5:1", "x", "10.0.0.5"},
		{"IPv6", "[2001:db8::1]:1", "2001:db8::7", "2001:db8::7"},
	} {
		addr, err := netip.ParseAddrPort(c.peer)
		if err != nil {
			t.Fatal(err)
		}
		var got string
		app := fiber.New(fiber.Config{Immutable: true})
		app.Get("/", func(f *fiber.Ctx) error {
			f.Context().SetRemoteAddr(net.TCPAddrFromAddrPort(addr))
			got = s.address(f)
			return nil
		})
		req := httptest.NewRequest("GET", "/", nil)
		if c.forwarded != "" {
			req.Header.Set(fiber.HeaderXForwardedFor, c.forwarded)
		}
		if _, err := app.Test(req, -1); err != nil {
			t.Fatal(err)
		}
		if got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}
