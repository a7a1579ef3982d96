package api_test

import (
	"testing"

	"github.com/gofiber/fiber/v2"

	"tacet/server/api"
)

func TestSameSite(t *testing.T) {
	app := fiber.New()
	app.Use(api.SameSite)
	app.All("/", func(c *fiber.Ctx) error { return c.SendStatus(204) })
	for _, c := range []struct {
		name   string
		q      []string
		status int
	}{
		{"reading from anywhere", []string{"GET", "http://office.example.org/", "Sec-Fetch-Site", "cross-site"}, 204},
		{"a form of ours", []string{"POST", "http://office.example.org/", "Sec-Fetch-Site", "same-origin"}, 204},
		{"a form of another site", []string{"POST", "http://office.example.org/", "Sec-Fetch-Site", "cross-site"}, 403},
		{"a form of a neighbour", []string{"POST", "http://office.example.org/", "Sec-Fetch-Site", "same-site"}, 403},
		{"older browser, our form", []string{"POST", "http://office.example.org/", "Origin", "http://office.example.org"}, 204},
		{"older browser, our form over TLS", []string{"POST", "http://office.example.org/", "Origin", "https://OFFICE.example.org"}, 204},
		{"older browser, another site", []string{"POST", "http://office.example.org/", "Origin", "https://evil.example.net"}, 403},
		{"another port", []string{"POST", "http://office.example.org/", "Origin", "http://office.example.org:81"}, 403},
		{"a sandboxed frame", []string{"POST", "http://office.example.org/", "Origin", "null"}, 403},
		{"an origin that is none", []string{"POST", "http://office.example.org/", "Origin", "://"}, 403},
		{"no browser", []string{"POST", "http://office.example.org/"}, 204},
		{"PUT of another site", []string{"PUT", "http://office.example.org/", "Sec-Fetch-Site", "cross-site"}, 403},
		{"DELETE of another site", []string{"DELETE", "http://office.example.org/", "Origin", "https://evil.example.net"}, 403},
	} {
		if status, _, _ := get(t, app, c.q...); status != c.status {
			t.Errorf("%s: %d, want %d", c.name, status, c.status)
		}
	}
}

func TestOnlyLoopback(t *testing.T) {
	app := fiber.New()
	app.Use(api.OnlyLoopback)
	app.Get("/", func(c *fiber.Ctx) error { return c.SendStatus(204) })
	for host, status := range map[string]int{
		"127.0.0.1": 204, "127.0.0.1:7411": 204, "localhost:7411": 204, "LocalHost": 204, "[::1]:7411": 204, "127.8.9.1": 204,
		"evil.example.net": 421, "evil.example.net:7411": 421, "127.0.0.1.evil.example.net": 421, "192.0.2.1": 421, "localhost.evil.example.net": 421, "0.0.0.0": 421,
	} {
		if got, _, _ := get(t, app, "GET", "/", "Host", host); got != status {
			t.Errorf("%s: %d, want %d", host, got, status)
		}
	}
}
