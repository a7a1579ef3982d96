package pages

import (
	"tacet/jobs"
	"tacet/server/accounts"
)

var (
	_ = register(Page{Name: "desk", Path: "/set-up", Roles: everybody, Open: true, Get: getSetUp, Post: postSetUp, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/enrol", Roles: everybody, Open: true, Get: getEnrol, View: deskView{}, When: hasAccounts})
)

func setUpView() deskView {
	return deskView{Answer: "Set this server up", Lead: []string{"It has no company yet. The code was printed when it was started; server setup-code prints a new one."},
		Form: form{Submit: "Set it up", Fields: []field{
			{Kind: "text", Name: "code", Label: "Set-up code"},
			{Kind: "text", Name: "company", Label: "Name of the firm"},
			{Kind: "text", Name: "name", Label: "Your name"},
			{Kind: "text", Name: "login", Label: "Your login", Hint: "Small letters, digits and . _ - @ +", Auto: "username"},
			{Kind: "password", Name: "password", Label: "Your password", Hint: "12 to 128 characters. Four words that do not belong together make a good one.", Auto: "new-password"}}}}
}

// getSetUp is there until there is a company, and then as if it had never been.
func getSetUp(v *visit) error {
	if err := v.stillFresh(); err != nil {
		return err
	}
	return v.desk(setUpView())
}

func (v *visit) stillFresh() error {
	fresh, err := v.deps.Accounts.Fresh(v.ctx)
	if err == nil && !fresh {
		err = jobs.ErrNotFound
	}
	return err
}

func postSetUp(v *visit) error {
	if err := v.stillFresh(); err != nil {
		return err
	}
	_, _, address := v.caller()
	owner := accounts.User{Name: v.c.FormValue("name"), Login: v.c.FormValue("login")}
	if _, err := v.deps.Accounts.SetUp(v.ctx, v.c.FormValue("code"), v.c.FormValue("company"), owner, v.c.FormValue("password"), address); err != nil {
		return v.refuse(setUpView(), err)
	}
	return v.see("/sign-in")
}

// getEnrol is where the picture of a one-time code leads. The code stands behind the # and never reaches the server from here.
func getEnrol(v *visit) error {
	return v.desk(deskView{Answer: "Enrol this device", Lead: []string{"The picture holds a one-time code, behind the # of this page's address. In the program on the device, enter:",
		"client enrol " + v.host() + " --code CODE", "On a phone, open " + v.host() + "/phone and type the code there."}})
}
