package api

import (
	"time"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/accounts"
)

// cookieName has the prefix with which browsers themselves see to it that the cookie is ours, wherever there is TLS. Browsers keep one
// set of cookies for all ports of a host, so it must not be the name that the client's pages use.
func (s *Server) cookieName() string {
	if s.secure {
		return "__Host-tacet-server"
	}
	return "tacet-server"
}

// guestCookie is the name of the cookie that holds a guest's secret: it opens other things, so it is another one.
func (s *Server) guestCookie() string { return s.cookieName() + "-guest" }

func (s *Server) setCookie(c *fiber.Ctx, name, value string, until time.Time) {
	c.Cookie(&fiber.Cookie{
		Name: name, Value: value, Path: "/", Expires: until,
		HTTPOnly: true, Secure: s.secure, SameSite: fiber.CookieSameSiteStrictMode,
	})
}

// Guest tells what the secret in a guest's cookie opens now. replica.ErrSignIn says that there is none, or that it has ended.
func (s *Server) Guest(c *fiber.Ctx) (accounts.Invited, error) {
	return s.accounts.Guest(c.UserContext(), c.Cookies(s.guestCookie()))
}

// Invite leaves a guest's secret in the browser.
func (s *Server) Invite(c *fiber.Ctx, secret string, until time.Time) {
	s.setCookie(c, s.guestCookie(), secret, until)
}

// Caller is the cookie that a browser signed in with and the address that the request came from.
func (s *Server) Caller(c *fiber.Ctx) (cookie, address string) {
	return c.Cookies(s.cookieName()), s.address(c)
}

// Visitor is the person whose browser asks, as the database has them now. replica.ErrSignIn says that nobody has signed in.
func (s *Server) Visitor(c *fiber.Ctx) (accounts.Who, error) {
	w, err := s.accounts.Browser(c.UserContext(), c.Cookies(s.cookieName()))
	if err != nil {
		return accounts.Who{}, err
	}
	c.Locals(localWho, w)
	if !accounts.May(w.Role, accounts.SeePages) {
		return accounts.Who{}, jobs.ErrRefused
	}
	return w, nil
}

// SignIn signs a browser in: the answer sets its cookie.
func (s *Server) SignIn(c *fiber.Ctx, login, password string) error {
	cookie, _, err := s.accounts.SignInBrowser(c.UserContext(), login, password, c.FormValue("code"), s.address(c))
	if err != nil {
		return err
	}
	s.setCookie(c, s.cookieName(), cookie, s.now().Add(accounts.BrowserLife))
	return nil
}

// SignOut signs a browser out, here and not only in the browser.
func (s *Server) SignOut(c *fiber.Ctx) error {
	if err := s.accounts.SignOutBrowser(c.UserContext(), c.Cookies(s.cookieName())); err != nil {
		return err
	}
	s.setCookie(c, s.cookieName(), "", s.now().Add(-time.Hour))
	return nil
}
