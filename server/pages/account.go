package pages

import (
	"strings"

	"tacet/jobs"
	"tacet/server/accounts"
)

var (
	_ = register(Page{Name: "desk", Path: "/account", Roles: everybody, Get: getAccount, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/account/password", Roles: everybody, Get: getPassword, Post: postPassword, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/account/factor", Roles: everybody, Get: getFactor, Post: postFactor, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/account/enrol", Roles: everybody, Post: postOwnCode, View: deskView{}, When: hasAccounts})
	_ = register(Page{Path: "/account/end-browser", Roles: everybody, Post: postEndBrowser, When: hasAccounts})
	_ = register(Page{Path: "/account/end-device", Roles: everybody, Post: postEndDevice, When: hasAccounts})
)

// setsUp tells which pages are open to somebody who has to set up a second factor first.
func setsUp(p Page) bool { return strings.HasPrefix(p.Path, "/account/factor") }

func getAccount(v *visit) error {
	w, cookie, _ := v.caller()
	factors, err := v.deps.Accounts.Factors(v.ctx, w.Company)
	if err != nil {
		return err
	}
	sessions, err := v.deps.Accounts.Sessions(v.ctx, w, cookie)
	if err != nil {
		return err
	}
	devices, err := v.deviceRows("/account/end-device", func(d accounts.Device) bool { return d.Person == w.Person })
	if err != nil {
		return err
	}
	view := deskView{Answer: "Your account", Lead: []string{v.who.Name + ", login " + w.Login + ", " + jobs.Lower(roleWords[w.Role]) + "."},
		Links: []step{{"Change your password", "/account/password"}}}
	if hasNotices(v.deps) && accounts.MayBeTold(w.Role) {
		view.Links = append(view.Links, step{"News by mail", "/account/notices"})
	}
	switch {
	case factors[w.Person]:
		view.Lead = append(view.Lead, "A code from your authenticator is asked for when you sign in here.")
	case accounts.WantsFactor(w.Role):
		view.Lead = append(view.Lead, "There is no second factor yet: with your password alone anybody could be you here.")
		view.Links = append(view.Links, step{"Set up a second factor", "/account/factor"})
	default:
		view.Links = append(view.Links, step{"Set up a second factor", "/account/factor"})
	}
	browsers := deskGroup{Title: "Where you are signed in with a browser"}
	for _, s := range sessions {
		row := deskRow{Name: "Since " + v.clock(s.Since), Says: []string{"Ends by itself " + v.clock(s.Until) + " unless it is used."}}
		if s.Here {
			row.Name += ", this one"
		} else {
			row.Do = []deskButton{{"/account/end-browser", "Sign it out", []hidden{{"browser", s.ID}}}}
		}
		browsers.Rows = append(browsers.Rows, row)
	}
	if len(sessions) > 1 {
		browsers.Rows = append(browsers.Rows, deskRow{Name: "All others", Do: []deskButton{{"/account/end-browser", "Sign all others out", nil}}})
	}
	view.Groups = []deskGroup{{Title: "Devices that you enrolled", Empty: "None.", Rows: devices}, browsers,
		{Title: "Another device", Rows: []deskRow{{Name: "A one-time code enrols it", Do: []deskButton{{"/account/enrol", "Make a code", nil}}}}}}
	return v.desk(view)
}

func passwordView() deskView {
	return deskView{Answer: "Change your password", Where: []crumb{{Text: "Your account", Href: "/account"}},
		Lead: []string{"Everything that you signed in to with the old one ends: browsers, devices, PINs. What is recorded on a device stays there and is sent after you sign in again."},
		Form: form{Submit: "Change it", Fields: []field{
			{Kind: "password", Name: "own", Label: "Password now", Auto: "current-password"},
			{Kind: "password", Name: "password", Label: "New password", Hint: "12 to 128 characters. Four words that do not belong together make a good one.", Auto: "new-password"},
			{Kind: "password", Name: "again", Label: "New password again", Auto: "new-password"}}}}
}

func getPassword(v *visit) error { return v.desk(passwordView()) }

func postPassword(v *visit) error {
	view := passwordView()
	if v.c.FormValue("password") != v.c.FormValue("again") {
		return v.refuse(view, &jobs.InputError{Field: "again", Value: "the two are not the same"})
	}
	if err := v.confirmed(); err != nil {
		return v.refuse(view, err)
	}
	if err := v.deps.Accounts.SetPassword(v.ctx, v.who.Login, v.c.FormValue("password")); err != nil {
		return v.refuse(view, err)
	}
	return v.see("/sign-in")
}

func (v *visit) factorView() (deskView, error) {
	w, _, _ := v.caller()
	f, err := v.deps.Accounts.BeginFactor(v.ctx, w)
	if err != nil {
		return deskView{}, err
	}
	picture, err := qr(f.URL, "Code for your authenticator")
	if err != nil {
		return deskView{}, err
	}
	return deskView{Answer: "Set up a second factor", Where: []crumb{{Text: "Your account", Href: "/account"}},
		Lead: []string{"Scan this with an authenticator on your own phone, or type the text into it. Then enter the code that it shows. From then on it is asked for with your password.",
			"If the phone is lost, an owner of the firm takes it off and you set up a new one."},
		Code: f.Secret, QR: picture,
		Form: form{Submit: "Confirm", Fields: []field{{Kind: "text", Name: "code", Label: "Code that it shows", Hint: "Six digits.", Auto: "one-time-code"}}}}, nil
}

func getFactor(v *visit) error {
	view, err := v.factorView()
	if err != nil {
		return v.refuse(deskView{Answer: "A second factor is set up", Links: []step{{"Your account", "/account"}}}, err)
	}
	return v.desk(view)
}

func postFactor(v *visit) error {
	w, cookie, address := v.caller()
	err := v.deps.Accounts.ConfirmFactor(v.ctx, w, v.c.FormValue("code"), cookie, address)
	if err == nil {
		return v.see("/account")
	}
	view, viewErr := v.factorView()
	if viewErr != nil {
		return viewErr
	}
	return v.refuse(view, err)
}

func postOwnCode(v *visit) error {
	return v.showCode(v.who.Login, crumb{Text: "Your account", Href: "/account"})
}

// showCode makes a one-time code and shows it, once, with what to do.
func (v *visit) showCode(login string, back crumb) error {
	code, err := v.deps.Accounts.EnrolCode(v.ctx, login, accounts.CodeLife)
	if err != nil {
		return err
	}
	picture, err := qr(v.host()+"/phone#/enrol/"+code, "Code to enrol a phone")
	if err != nil {
		return err
	}
	return v.showSecret(deskView{Answer: "Code for a device of " + login, Where: []crumb{back}, Code: code, QR: picture,
		Lead: []string{"Good once, for 10 minutes. It is not shown again.", "On a phone: point the camera at the picture, or open " + v.host() + "/phone and type the code.", "On a laptop or tablet: client enrol " + v.host() + " --code CODE"}})
}

func postEndBrowser(v *visit) error {
	w, cookie, _ := v.caller()
	if err := v.deps.Accounts.EndSessions(v.ctx, w, cookie, v.c.FormValue("browser")); err != nil {
		return err
	}
	return v.see("/account")
}

func postEndDevice(v *visit) error {
	w, _, _ := v.caller()
	list, err := v.deps.Accounts.DevicesOf(v.ctx, w.Company)
	if err != nil {
		return err
	}
	for _, d := range list {
		if d.ID == v.c.FormValue("device") && d.Person == w.Person {
			if err := v.deps.Accounts.RevokeOf(v.ctx, w.Company, d.ID); err != nil {
				return err
			}
			return v.see("/account")
		}
	}
	return jobs.ErrNotFound
}
