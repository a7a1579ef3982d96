package api

import (
	"bytes"
	_ "embed"
	"errors"
	"html/template"
	"net/url"
	"strings"
	"time"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/sync/replica"
)

//go:embed signin.html
var signInHTML string

var signInPage = template.Must(template.New("sign-in").Parse(signInHTML))

type signInView struct {
	Then  string
	Login string
	Wrong string
}

// cookieName has the prefix with which browsers themselves see to it that the cookie is ours, wherever there is TLS.
func (s *Server) cookieName() string {
	if s.secure {
		return "__Host-tacet"
	}
	return "tacet"
}

func (s *Server) setCookie(c *fiber.Ctx, value string, until time.Time) {
	c.Cookie(&fiber.Cookie{
		Name: s.cookieName(), Value: value, Path: "/", Expires: until,
		HTTPOnly: true, Secure: s.secure, SameSite: fiber.CookieSameSiteStrictMode,
	})
}

// browser lets a request pass that carries the cookie of someone who may see pages, and shows others the door.
func (s *Server) browser(c *fiber.Ctx) error {
	w, err := s.accounts.Browser(c.UserContext(), c.Cookies(s.cookieName()))
	if errors.Is(err, replica.ErrSignIn) && c.Method() == fiber.MethodGet && wantsPage(c) {
		return toSignIn(c, c.OriginalURL())
	}
	if err != nil {
		return err
	}
	c.Locals(localWho, w)
	if !accounts.May(w.Role, accounts.SeePages) {
		return jobs.ErrRefused
	}
	c.Set(fiber.HeaderCacheControl, "no-store")
	return c.Next()
}

// SignedIn is the person whose cookie let a request through to a page.
func SignedIn(c *fiber.Ctx) accounts.Who { return who(c) }

func (s *Server) getSignIn(c *fiber.Ctx) error {
	return showSignIn(c, fiber.StatusOK, signInView{Then: ownPath(c.Query("then"))})
}

func (s *Server) postBrowserSignIn(c *fiber.Ctx) error {
	b, err := body(c, smallBody)
	if err != nil {
		return err
	}
	form, err := url.ParseQuery(string(b))
	if err != nil {
		return &jobs.InputError{Field: "form", Value: "not a form"}
	}
	then := ownPath(form.Get("then"))
	cookie, _, err := s.accounts.SignInBrowser(c.UserContext(), form.Get("login"), form.Get("password"), c.IP())
	var ref *replica.Refusal
	if errors.As(err, &ref) && (errors.Is(err, replica.ErrSignIn) || errors.Is(err, replica.ErrSlowDown)) {
		status := fiber.StatusUnauthorized
		if errors.Is(err, replica.ErrSlowDown) {
			status = fiber.StatusTooManyRequests
		}
		return showSignIn(c, status, signInView{Then: then, Login: form.Get("login"), Wrong: ref.Says})
	}
	if err != nil {
		return err
	}
	s.setCookie(c, cookie, s.now().Add(accounts.BrowserLife))
	return c.Redirect(then, fiber.StatusSeeOther)
}

func (s *Server) postBrowserSignOut(c *fiber.Ctx) error {
	if err := s.accounts.SignOutBrowser(c.UserContext(), c.Cookies(s.cookieName())); err != nil {
		return err
	}
	s.setCookie(c, "", s.now().Add(-time.Hour))
	c.Set("Clear-Site-Data", `"cache", "storage"`)
	return c.Redirect("/sign-in", fiber.StatusSeeOther)
}

func showSignIn(c *fiber.Ctx, status int, v signInView) error {
	var b bytes.Buffer
	if err := signInPage.Execute(&b, v); err != nil {
		return err
	}
	c.Set(fiber.HeaderCacheControl, "no-store")
	c.Type("html", "utf-8")
	return c.Status(status).Send(b.Bytes())
}

// ownPath is a path of this server to go on to; whatever leads elsewhere becomes the first page.
func ownPath(p string) string {
	u, err := url.Parse(p)
	if err != nil || u.Scheme != "" || u.Host != "" || !strings.HasPrefix(p, "/") || strings.HasPrefix(p, "//") || strings.ContainsAny(p, "\\\r\n") {
		return "/"
	}
	return p
}
