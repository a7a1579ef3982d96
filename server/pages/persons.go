package pages

import (
	"tacet/jobs"
	"tacet/server/accounts"
)

var (
	_ = register(Page{Name: "desk", Path: "/people", Roles: desk, Get: getPersons, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/add-person", Roles: desk, Get: getAddPerson, Post: postAddPerson, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/people/:person", Roles: desk, Get: getPerson, View: deskView{}, When: hasAccounts, Looks: "the account of somebody"})
	_ = register(Page{Name: "desk", Path: "/people/:person/code", Roles: desk, Post: postPersonCode, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/people/:person/password", Roles: desk, Get: getPersonPassword, Post: postPersonPassword, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/people/:person/role", Roles: []jobs.Role{jobs.Owner}, Get: getPersonRole, Post: postPersonRole, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/people/:person/factor", Roles: []jobs.Role{jobs.Owner}, Get: getDropFactor, Post: postDropFactor, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/people/:person/access", Roles: desk, Get: getAccess, Post: postAccess, View: deskView{}, When: hasAccounts})
)

func getPersons(v *visit) error {
	users, err := v.deps.Accounts.Users(v.ctx, v.who.Company)
	if err != nil {
		return err
	}
	factors, err := v.deps.Accounts.Factors(v.ctx, v.who.Company)
	if err != nil {
		return err
	}
	group := deskGroup{Title: "People"}
	for _, u := range users {
		group.Rows = append(group.Rows, deskRow{Href: "/people/" + u.Person, Name: u.Name, Says: []string{personSays(u, factors[u.Person])}})
	}
	view := deskView{Answer: "People of " + v.who.Firm, Groups: []deskGroup{group},
		Links: []step{{"Add a person", "/add-person"}, {"Devices", "/devices"}, {"Guests", "/guests"}, {"Privacy", "/privacy"}}}
	if hasNotices(v.deps) {
		view.Links = append(view.Links, step{"How news is sent", "/notices"})
	}
	return v.desk(view)
}

func personSays(u accounts.User, factor bool) string {
	says := roleWords[u.Role] + ", login " + u.Login + "."
	switch {
	case u.Ended:
		return says + " Access has ended."
	case !factor && accounts.WantsFactor(u.Role):
		return says + " No second factor yet."
	}
	return says
}

func addPersonView(v *visit) deskView {
	return deskView{Answer: "Add a person", Where: []crumb{peopleCrumb}, Form: form{Submit: "Add", Fields: []field{
		{Kind: "text", Name: "name", Label: "Name", Hint: "As others see it."},
		{Kind: "text", Name: "login", Label: "Login", Hint: "Small letters, digits and . _ - @ +"},
		roleField(v.mayGive(), jobs.Site),
		{Kind: "password", Name: "password", Label: "First password", Hint: "12 to 128 characters. The person changes it on their own page.", Auto: "new-password"}}}}
}

func getAddPerson(v *visit) error { return v.desk(addPersonView(v)) }

func postAddPerson(v *visit) error {
	u := accounts.User{Company: v.who.Company, Name: v.c.FormValue("name"), Login: v.c.FormValue("login"), Role: jobs.Role(v.c.FormValue("role"))}
	if u.Role == jobs.Owner && v.who.Role != jobs.Owner {
		return v.refuse(addPersonView(v), &jobs.RuleError{Says: "only an owner makes an owner"})
	}
	u, err := v.deps.Accounts.AddUser(v.ctx, u, v.c.FormValue("password"))
	if err != nil {
		return v.refuse(addPersonView(v), err)
	}
	return v.see("/people/" + u.Person)
}

// person is whom the path names: somebody of the visitor's own company, or nobody.
func (v *visit) person() (accounts.User, error) {
	return v.deps.Accounts.User(v.ctx, v.who.Company, v.param("person"))
}

// subject is the person that the path names, where the visitor may change anything about them: the office changes no owner.
func (v *visit) subject() (accounts.User, []crumb, error) {
	u, err := v.person()
	if err == nil && u.Role == jobs.Owner && v.who.Role != jobs.Owner {
		err = &jobs.RuleError{Says: "only an owner changes what an owner may do"}
	}
	return u, []crumb{peopleCrumb, {Text: u.Name, Href: "/people/" + u.Person}}, err
}

func getPerson(v *visit) error {
	u, err := v.person()
	if err != nil {
		return err
	}
	factors, err := v.deps.Accounts.Factors(v.ctx, v.who.Company)
	if err != nil {
		return err
	}
	devices, err := v.deviceRows("/devices/revoke", func(d accounts.Device) bool { return d.Person == u.Person })
	if err != nil {
		return err
	}
	at := "/people/" + u.Person
	view := deskView{Answer: u.Name, Where: []crumb{peopleCrumb}, Lead: []string{personSays(u, factors[u.Person])},
		Groups: []deskGroup{{Title: "Devices that " + u.Name + " enrolled", Empty: "None.", Rows: devices}}}
	data := step{"What is held about them", at + "/data"}
	if u.Role == jobs.Owner && v.who.Role != jobs.Owner {
		view.Links = []step{data}
		return v.desk(view)
	}
	view.Links = []step{{"Give a new password", at + "/password"}, data}
	if v.who.Role == jobs.Owner {
		view.Links = append(view.Links, step{"Change the role", at + "/role"})
		if factors[u.Person] {
			view.Links = append(view.Links, step{"The phone is lost: take the second factor off", at + "/factor"})
		}
	}
	if narrowable(u) {
		view.Links = append(view.Links, step{"Give and take jobs", at + "/jobs"})
	}
	if u.Ended {
		view.Links = append(view.Links, step{"Give access back", at + "/access"})
	} else {
		view.Links = append(view.Links, step{"End access", at + "/access"})
		view.Groups = append(view.Groups, deskGroup{Title: "Another device", Rows: []deskRow{{Name: "A one-time code enrols it", Do: []deskButton{{at + "/code", "Make a code", nil}}}}})
	}
	return v.desk(view)
}

func postPersonCode(v *visit) error {
	u, where, err := v.subject()
	if err != nil {
		return err
	}
	return v.showCode(u.Login, where[1])
}

func personPasswordView(u accounts.User, where []crumb) deskView {
	return deskView{Answer: "A new password for " + u.Name, Where: where, Lead: []string{"Everything that they signed in to ends. Say the password to them, not in a message."},
		Form: form{Submit: "Give it", Fields: []field{
			{Kind: "password", Name: "password", Label: "New password", Hint: "12 to 128 characters.", Auto: "new-password"}, confirmField()}}}
}

func getPersonPassword(v *visit) error {
	u, where, err := v.subject()
	if err != nil {
		return err
	}
	return v.desk(personPasswordView(u, where))
}

func postPersonPassword(v *visit) error {
	return v.change(personPasswordView, func(u accounts.User) error {
		return v.deps.Accounts.SetPassword(v.ctx, u.Login, v.c.FormValue("password"))
	})
}

// change is what the pages that change a person have in common: may the visitor, is it the visitor, do it, back to the person.
func (v *visit) change(show func(accounts.User, []crumb) deskView, do func(accounts.User) error) error {
	u, where, err := v.subject()
	if err != nil {
		return err
	}
	if err := v.confirmed(); err != nil {
		return v.refuse(show(u, where), err)
	}
	if err := do(u); err != nil {
		return v.refuse(show(u, where), err)
	}
	return v.see("/people/" + u.Person)
}

func roleView(u accounts.User, where []crumb) deskView {
	return deskView{Answer: "The role of " + u.Name, Where: where, Lead: []string{"What was recorded before keeps the role that it was recorded with."},
		Form: form{Submit: "Change it", Fields: []field{roleField(jobs.Roles(), u.Role), confirmField()}}}
}

func getPersonRole(v *visit) error {
	u, where, err := v.subject()
	if err != nil {
		return err
	}
	return v.desk(roleView(u, where))
}

func postPersonRole(v *visit) error {
	return v.change(roleView, func(u accounts.User) error {
		return v.deps.Accounts.SetRole(v.ctx, u.Company, u.Person, jobs.Role(v.c.FormValue("role")))
	})
}

func dropFactorView(u accounts.User, where []crumb) deskView {
	return deskView{Answer: "Take the second factor of " + u.Name + " off", Where: where,
		Lead: []string{"Be sure that it is they who ask. They set up a new one when they next sign in; until then their password is all that is asked for."},
		Form: form{Submit: "Take it off", Fields: []field{confirmField()}}}
}

func getDropFactor(v *visit) error {
	u, where, err := v.subject()
	if err != nil {
		return err
	}
	return v.desk(dropFactorView(u, where))
}

func postDropFactor(v *visit) error {
	return v.change(dropFactorView, func(u accounts.User) error { return v.deps.Accounts.DropFactor(v.ctx, u.Login) })
}

func accessView(u accounts.User, where []crumb) deskView {
	if u.Ended {
		return deskView{Answer: "Give " + u.Name + " access again", Where: where, Form: form{Submit: "Give access back", Fields: []field{confirmField()}}}
	}
	return deskView{Answer: "End the access of " + u.Name, Where: where,
		Lead: []string{"Nothing that they signed in with works from the next request on. What they recorded stays in the record under their name."},
		Form: form{Submit: "End access", Fields: []field{confirmField()}}}
}

func getAccess(v *visit) error {
	u, where, err := v.subject()
	if err != nil {
		return err
	}
	return v.desk(accessView(u, where))
}

func postAccess(v *visit) error {
	return v.change(accessView, func(u accounts.User) error {
		if u.Ended {
			return v.deps.Accounts.Reinstate(v.ctx, u.Login)
		}
		return v.deps.Accounts.EndUser(v.ctx, u.Login)
	})
}
