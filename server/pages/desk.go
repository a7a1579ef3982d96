package pages

import (
	"errors"
	"html/template"
	"strings"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/paper"
)

// desk are the roles that look after people and devices.
var desk = []jobs.Role{jobs.Office, jobs.Owner}

func hasAccounts(d Deps) bool { return d.Accounts != nil }

// deskView is a page about people, devices and links: what is so, what can be done about it.
type deskView struct {
	frame
	Where  []crumb
	Answer string
	Lead   []string
	Code   string // to be copied; shown once
	QR     template.HTML
	Links  []step
	Form   form // none without Submit
	Groups []deskGroup
}

type deskGroup struct {
	Title, Empty string
	Rows         []deskRow
}

type deskRow struct {
	Href, Name string
	Says       []string
	Do         []deskButton
}

// deskButton is a form of one button.
type deskButton struct {
	Action, Text string
	Hidden       []hidden
}

// desk shows the page, with 422 where its form has to be corrected.
func (v *visit) desk(view deskView) error {
	view.frame = v.frame(toCorrect(view.Answer, view.Form))
	if len(view.Form.Errors) > 0 {
		v.c.Status(fiber.StatusUnprocessableEntity)
	}
	// What these pages show is nobody else's business, also on a machine that people share.
	v.c.Set(fiber.HeaderCacheControl, "no-store")
	return v.show("desk", view)
}

// showSecret shows what was made and is not shown again, but to a second tap on the same button.
func (v *visit) showSecret(view deskView) error {
	v.madeSecret = true
	return v.desk(view)
}

// refuse shows the form again where err is for the person who filled it in.
func (v *visit) refuse(view deskView, err error) error {
	view.Form.fill(v.c)
	if view.Form.take(err) {
		return v.desk(view)
	}
	if says, ok := refusal(err); ok {
		view.Form.complain("", says)
		return v.desk(view)
	}
	return err
}

// qr is a code as a picture.
func qr(text, label string) (template.HTML, error) {
	svg, err := paper.QRSVG(text, label, 232)
	if err != nil {
		return "", err
	}
	return template.HTML(svg), nil // made by us: squares, and the label escaped
}

// caller is the visitor as the accounts know people.
func (v *visit) caller() (w accounts.Who, cookie, address string) {
	if v.deps.Caller != nil {
		cookie, address = v.deps.Caller(v.c)
	}
	return accounts.Who{Company: v.who.Company, Person: v.who.Person, Login: v.who.Login, Name: v.who.Name, Role: v.who.Role}, cookie, address
}

// host is the address under which people reach this server.
func (v *visit) host() string {
	if v.deps.SheetHost != "" {
		return strings.TrimRight(v.deps.SheetHost, "/")
	}
	return strings.TrimRight(v.c.BaseURL(), "/")
}

// confirmField asks whoever changes what opens doors for their own password again.
func confirmField() field {
	return field{Kind: "password", Name: "own", Label: "Your own password", Hint: "Asked again, because this opens doors.", Auto: "current-password"}
}

// confirmErasing asks for it before something goes for ever.
func confirmErasing() field {
	f := confirmField()
	f.Hint = "Asked again, because what is erased can't be brought back."
	return f
}

// confirmed checks confirmField.
func (v *visit) confirmed() error {
	w, _, address := v.caller()
	err := v.deps.Accounts.Confirm(v.ctx, w, v.c.FormValue("own"), address)
	if says, ok := refusal(err); ok {
		return &jobs.InputError{Field: "own", Value: says}
	}
	return err
}

var peopleCrumb = crumb{Text: "People", Href: "/people"}

// roleWords are the roles as people say them.
var roleWords = map[jobs.Role]string{jobs.Site: "Site", jobs.Supervisor: "Supervisor", jobs.Office: "Office", jobs.Owner: "Owner"}

func roleField(may []jobs.Role, now jobs.Role) field {
	f := field{Kind: "choice", Name: "role", Label: "Role"}
	hints := map[jobs.Role]string{jobs.Site: "Records work.", jobs.Supervisor: "Records, releases, answers and rules.", jobs.Office: "Specifies; looks after people and devices.",
		jobs.Owner: "All of that, and who has which role."}
	for _, r := range may {
		f.Options = append(f.Options, option{Value: string(r), Label: roleWords[r], Hint: hints[r], Checked: r == now})
	}
	return f
}

// mayGive are the roles that the visitor may give to others: the office makes no owners.
func (v *visit) mayGive() []jobs.Role {
	if v.who.Role == jobs.Owner {
		return jobs.Roles()
	}
	return []jobs.Role{jobs.Site, jobs.Supervisor, jobs.Office}
}

// refusal is what to tell a person whose password, code or request was refused; false for what went wrong here.
func refusal(err error) (string, bool) {
	var in *jobs.InputError
	if err == nil || errors.As(err, &in) {
		return "", false
	}
	if says := plainly(err); says != plainly(errors.New("")) {
		return sentence(says), true
	}
	return "", false
}
