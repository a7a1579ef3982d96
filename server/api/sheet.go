package api

import (
	"net/url"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/accounts"
)

// getSheet is where the QR code of a sheet leads. It opens the surface's page for whoever has signed in and records nothing: a code
// that lies about in a building must not do anything. Paths are compared without regard to case, because QR codes are denser in capitals.
func (s *Server) getSheet(c *fiber.Ctx) error {
	code, err := jobs.ParseSheetCode(c.Params("code"))
	if err != nil {
		return err
	}
	w, err := s.accounts.Browser(c.UserContext(), c.Cookies(s.cookieName()))
	if err != nil {
		// Signed in or not, the first answer is the same for codes that exist and codes that don't.
		return toSignIn(c, "/s/"+code)
	}
	if !accounts.May(w.Role, accounts.SeePages) {
		return jobs.ErrRefused
	}
	job, surface, err := s.replica.FindSheet(c.UserContext(), w.Company, code)
	if err != nil {
		return err
	}
	c.Set(fiber.HeaderCacheControl, "no-store")
	return c.Redirect(s.surfacePage(job, surface), fiber.StatusSeeOther)
}

func toSignIn(c *fiber.Ctx, then string) error {
	c.Set(fiber.HeaderCacheControl, "no-store")
	return c.Redirect("/sign-in?then="+url.QueryEscape(then), fiber.StatusSeeOther)
}
