package pages

import (
	"net/url"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
)

var (
	_ = register(Page{Name: "code", Path: "/s", Roles: everybody, Get: getCode, View: codeView{}})
	_ = register(Page{Name: "code", Path: "/s/:code", Roles: everybody, Get: getCode, View: codeView{}})
)

// codeView asks for the readable code of a sheet. Following a code opens its surface and records nothing.
type codeView struct {
	frame
	Answer string
	Form   form
}

func codeForm() form {
	return form{Submit: "Open", Fields: []field{{Kind: "text", Name: "code", Label: "Code of the sheet",
		Hint: "13 letters and digits beneath the square code. O and 0, I and 1 are the same."}}}
}

func getCode(v *visit) error {
	typed := v.param("code")
	if typed == "" {
		typed = v.c.Query("code")
	}
	view := codeView{Answer: "Open a sheet by its code", Form: codeForm()}
	view.Form.Fields[0].Value = typed
	if typed != "" {
		code, err := jobs.ParseSheetCode(typed)
		if err == nil {
			job, surface, err := v.deps.Record.FindSheet(v.ctx, v.who.Company, code)
			if err == nil {
				return v.see("/jobs/" + job + "/s/" + url.PathEscape(surface))
			}
			if !isNotFound(err) {
				return err
			}
			view.Form.complain("code", "No surface here has the code "+jobs.FormatSheetCode(code)+". Its job may not have arrived on this device yet.")
		} else if !view.Form.take(err) {
			return err
		}
		v.c.Status(fiber.StatusUnprocessableEntity)
	}
	if typed == "" && v.c.Context().QueryArgs().Has("code") {
		view.Form.complain("code", "Write the code of the sheet: 13 letters and digits.")
		v.c.Status(fiber.StatusUnprocessableEntity)
	}
	view.frame = v.frame(toCorrect(view.Answer, view.Form))
	return v.show("code", view)
}
