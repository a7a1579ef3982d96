package pages

import (
	"log/slog"
	"net/url"
	"slices"
	"time"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
)

// Pages are the pages of one program.
type Pages struct {
	deps Deps
	sent *forms
	// longs are papers that take long.
	longs *longs
}

// New makes the pages. It panics where a program forgot something that no page can do without.
func New(d Deps) *Pages {
	if d.Record == nil || d.Blobs == nil || d.Who == nil {
		panic("pages: Record, Blobs and Who are needed")
	}
	if d.Now == nil {
		d.Now = time.Now
	}
	if d.Zone == nil {
		d.Zone = time.UTC
	}
	if d.Log == nil {
		d.Log = slog.Default()
	}
	return &Pages{deps: d, sent: &forms{}, longs: &longs{}}
}

// policy lets a page load from its own host only, and run and style nothing that stands in the page itself.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; " +
	"form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// Register adds every page to r, with what they are made of under its checksum. The app needs Immutable, and a BodyLimit
// of at least the photos that one form may hold.
func (p *Pages) Register(r fiber.Router) {
	r.Get("/static/:sum/:name", p.static)
	for _, page := range Registered() {
		if page.When != nil && !page.When(p.deps) {
			continue
		}
		if page.Get != nil {
			r.Get(page.Path, p.serve(page, page.Get))
		}
		if page.Post != nil {
			r.Post(page.Path, p.serve(page, page.Post))
		}
	}
}

// serve wraps a handler: headers, who asks, whether they may, and what is said when something goes wrong.
func (p *Pages) serve(page Page, handle func(*visit) error) fiber.Handler {
	return func(c *fiber.Ctx) error {
		headers(c)
		v := &visit{Pages: p, c: c, ctx: c.UserContext(), page: page}
		if c.Method() == fiber.MethodPost && !sameOrigin(c) {
			return v.fail(errForeign)
		}
		who, err := p.deps.Who(c)
		if err != nil && !page.Open {
			return v.fail(err)
		}
		if err == nil {
			v.who = who
		}
		switch {
		case page.Open:
		case who.Guest != "":
			if !v.guestMay() {
				return v.fail(jobs.ErrNotFound)
			}
		case !page.MayOpen(who.Role):
			return v.fail(notYours(page.Roles))
		case who.SetUp && !setsUp(page):
			return v.see("/account/factor")
		}
		if err := v.sees(); err != nil && !page.Open {
			return v.fail(err)
		}
		if err := v.seesFirm(); err != nil && !page.Open {
			return v.fail(err)
		}
		v.at = v.position()
		if err := v.taken(handle); err != nil {
			return v.fail(err)
		}
		if err := v.noteLook(); err != nil {
			return v.fail(err) // what is not noted is not shown
		}
		return nil
	}
}

// NotFound answers what no route answered; a program may put it last.
func (p *Pages) NotFound(c *fiber.Ctx) error { return p.Fail(c, jobs.ErrNotFound) }

// Fail answers with the page for an error: calm, with its status, and without inner text where the error is not one of
// the table in sync/wire.
func (p *Pages) Fail(c *fiber.Ctx, err error) error {
	headers(c)
	v := &visit{Pages: p, c: c, ctx: c.UserContext()}
	if who, ok := p.deps.Who(c); ok == nil {
		v.who = who
	}
	return v.fail(err)
}

func headers(c *fiber.Ctx) {
	c.Set("Content-Security-Policy", policy)
	c.Set("X-Content-Type-Options", "nosniff")
	// Forms need the origin of their own page; nobody else learns an address.
	c.Set("Referrer-Policy", "same-origin")
	c.Set("Cross-Origin-Opener-Policy", "same-origin")
	c.Set("Cross-Origin-Resource-Policy", "same-origin")
	c.Set("Cache-Control", "private, no-cache")
}

// sameOrigin tells whether a form was sent from a page of ours. Browsers say so themselves; what is no browser says
// nothing and carries no cookie of somebody else either.
func sameOrigin(c *fiber.Ctx) bool {
	if site := c.Get("Sec-Fetch-Site"); site != "" {
		return slices.Contains([]string{"same-origin", "none"}, site)
	}
	origin := c.Get("Origin")
	if origin == "" {
		return true
	}
	u, err := url.Parse(origin)
	return err == nil && u.Host != "" && u.Host == string(c.Context().Host())
}
