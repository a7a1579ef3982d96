package pages

import (
	"net/url"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
)

var (
	_ = register(Page{Name: "sign_in", Path: "/sign-in", Roles: everybody, Open: true, Get: getSignIn, Post: postSignIn, View: signInView{}, When: signsIn})
	_ = register(Page{Path: "/sign-out", Roles: everybody, Open: true, Post: postSignOut, When: signsIn})
)

func signsIn(d Deps) bool { return d.SignIn != nil }

// signInView asks who it is.
type signInView struct {
	frame
	Answer string
	Form   form
}

func (v *visit) signInForm(next string) form {
	if v.deps.Pin {
		return form{Submit: "Open", Hidden: []hidden{{"next", next}}, Fields: []field{{Kind: "text", Name: "login", Label: "Login", Auto: "username"},
			{Kind: "password", Name: "password", Label: "PIN", Hint: "The one that you have on this device.", Auto: "off"}}}
	}
	return form{Submit: "Sign in", Hidden: []hidden{{"next", next}}, Fields: []field{
		{Kind: "text", Name: "login", Label: "Login", Auto: "username"},
		{Kind: "password", Name: "password", Label: "Password", Auto: "current-password"},
		{Kind: "text", Name: "code", Label: "Code from your authenticator", Hint: "Six digits. Leave it empty if you have not set one up.", Auto: "one-time-code"}}}
}

func getSignIn(v *visit) error {
	if v.deps.Accounts != nil {
		fresh, err := v.deps.Accounts.Fresh(v.ctx)
		if err != nil {
			return err
		}
		if fresh { // nobody could sign in
			return v.see("/set-up")
		}
	}
	view := signInView{Answer: "Sign in", Form: v.signInForm(ownPath(v.c.Query("next")))}
	view.frame = v.frame(view.Answer)
	return v.show("sign_in", view)
}

func postSignIn(v *visit) error {
	next := ownPath(v.c.FormValue("next"))
	view := signInView{Answer: "Sign in", Form: v.signInForm(next)}
	view.Form.fill(v.c)
	login, password := strings.TrimSpace(v.c.FormValue("login")), v.c.FormValue("password")
	switch {
	case login == "":
		view.Form.complain("login", "Fill in: login.")
	case password == "":
		view.Form.complain("password", "Fill in: "+map[bool]string{true: "PIN.", false: "password."}[v.deps.Pin])
	default:
		err := v.deps.SignIn(v.c, login, password)
		if err == nil {
			return v.see(next)
		}
		view.Form.complain("login", sentence(plainly(err)))
	}
	view.frame = v.frame(toCorrect(view.Answer, view.Form))
	v.c.Status(fiber.StatusUnprocessableEntity)
	return v.show("sign_in", view)
}

func postSignOut(v *visit) error {
	if v.deps.SignOut == nil {
		return jobs.ErrNotFound
	}
	if err := v.deps.SignOut(v.c); err != nil {
		return err
	}
	v.c.Set("Clear-Site-Data", `"cache", "storage"`)
	return v.see("/sign-in")
}

// ownPath lets nobody be led to another site after signing in.
func ownPath(next string) string {
	u, err := url.Parse(next)
	if err != nil || u.IsAbs() || u.Host != "" || !strings.HasPrefix(next, "/") || strings.HasPrefix(next, "//") || strings.ContainsAny(next, "\\\r\n\t") {
		return "/"
	}
	return next
}
