package pages

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/sync/replica"
)

// hosts are the roles that may show a job to somebody from outside.
var hosts = []jobs.Role{jobs.Supervisor, jobs.Office, jobs.Owner}

var (
	_ = register(Page{Name: "desk", Path: "/guests", Roles: hosts, Get: getGuests, Post: postGuests, View: deskView{}, When: hasAccounts})
	_ = register(Page{Path: "/guests/end", Roles: hosts, Post: postEndGuest, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/guest/:secret", Roles: everybody, Open: true, Get: getGuest, Post: postGuest, View: deskView{}, When: hasAccounts})
)

// guestPages is all that a guest may get, of the one job: what was specified and recorded, its pictures and its paper. What is not here is
// not there for a guest, and nothing can be sent.
var guestPages = []string{"/jobs/:job", "/jobs/:job/history", "/jobs/:job/s/:surface", "/jobs/:job/s/:surface/history",
	"/jobs/:job/s/:surface/section-:width.svg", "/jobs/:job/s/:surface/mini.svg", "/jobs/:job/s/:surface/legend.svg",
	"/jobs/:job/s/:surface/sheet.pdf", "/jobs/:job/sheets.pdf", "/jobs/:job/photos/:sha", "/jobs/:job/photos/:sha/of/:over"}

// guestMay tells whether a guest may have what is asked for.
func (v *visit) guestMay() bool {
	return v.c.Method() == "GET" && slices.Contains(guestPages, v.page.Path) && v.param("job") == v.who.Guest
}

func (v *visit) guestsView() (deskView, error) {
	rows, err := v.jobRows()
	if err != nil {
		return deskView{}, err
	}
	if rows, err = v.shown(rows); err != nil {
		return deskView{}, err
	}
	slices.SortFunc(rows, func(a, b replica.JobRow) int { return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID)) })
	names := map[string]string{}
	pick := field{Kind: "select", Name: "job", Label: "Job"}
	for _, r := range rows {
		names[r.ID] = r.Name
		pick.Options = append(pick.Options, option{Value: r.ID, Label: r.Name})
	}
	list, err := v.deps.Accounts.Guests(v.ctx, v.who.Company)
	if err != nil {
		return deskView{}, err
	}
	links := deskGroup{Title: "Links", Empty: "None was made."}
	for _, g := range list {
		if _, seen := names[g.Job]; !seen {
			continue // kept from the visitor, or erased
		}
		row := deskRow{Name: g.Name, Says: []string{names[g.Job] + ". Made " + v.clock(g.Made) + " by " + v.name(g.By) + ".", "Not used yet."}}
		if !g.Seen.IsZero() {
			row.Says[1] = "Last used " + v.clock(g.Seen) + "."
		}
		if g.Ended {
			row.Says = append(row.Says, "It has ended.")
		} else {
			row.Says = append(row.Says, "Good until "+v.clock(g.Until)+".")
			row.Do = []deskButton{{"/guests/end", "End it now", []hidden{{"guest", g.ID}}}}
		}
		links.Rows = append(links.Rows, row)
	}
	view := deskView{Answer: "Guests", Lead: []string{"A link lets somebody from outside, such as building control or the client, read one job until a day. They record nothing and see nothing else; what people said, and who they are, they are not shown."},
		Groups: []deskGroup{links}}
	if (Page{Roles: desk}).MayOpen(v.who.Role) { // a supervisor has no page of people to go back to
		view.Where = []crumb{peopleCrumb}
	}
	if len(rows) == 0 {
		view.Lead, view.Links = append(view.Lead, "A link is made for a job, and there is none yet."), []step{v.begin()}
	} else {
		view.Form = form{Submit: "Make a link", Fields: []field{pick,
			{Kind: "text", Name: "name", Label: "For whom", Hint: "As it stands in this list."},
			{Kind: "decimal", Name: "days", Label: "Good for", Unit: "days", Value: strconv.Itoa(int(accounts.GuestLife / (24 * time.Hour)))}}}
	}
	return view, nil
}

func getGuests(v *visit) error {
	view, err := v.guestsView()
	if err != nil {
		return err
	}
	return v.desk(view)
}

func postGuests(v *visit) error {
	view, err := v.guestsView()
	if err != nil {
		return err
	}
	if err := v.seesJob(v.c.FormValue("job")); err != nil {
		return err
	}
	j, err := v.deps.Record.Job(v.ctx, v.who.Company, v.c.FormValue("job"))
	if err != nil {
		return err
	}
	days, err := strconv.Atoi(v.c.FormValue("days"))
	if err != nil || days < 1 || days > 365 {
		return v.refuse(view, &jobs.InputError{Field: "days", Value: "not that", Range: "1 to 365", Unit: "days"})
	}
	w, _, _ := v.caller()
	secret, err := v.deps.Accounts.AddGuest(v.ctx, w, j.ID, v.c.FormValue("name"), time.Duration(days)*24*time.Hour)
	if err != nil {
		return v.refuse(view, err)
	}
	if err := v.note("made a link for a guest", j.ID); err != nil {
		return err
	}
	link := v.host() + "/guest/" + secret
	picture, err := qr(link, "Link for a guest")
	if err != nil {
		return err
	}
	return v.showSecret(deskView{Answer: "Link for " + v.c.FormValue("name"), Where: []crumb{{Text: "Guests", Href: "/guests"}}, Code: link, QR: picture,
		Lead: []string{"Whoever has it sees the job, so send it to them alone. It is not shown again; end it on the page before."}})
}

func postEndGuest(v *visit) error {
	id := v.c.FormValue("guest")
	list, err := v.deps.Accounts.Guests(v.ctx, v.who.Company)
	if err != nil {
		return err
	}
	for _, g := range list {
		if g.ID == id {
			if err := v.seesJob(g.Job); err != nil {
				return err
			}
		}
	}
	if err := v.deps.Accounts.EndGuest(v.ctx, v.who.Company, id); err != nil {
		return err
	}
	return v.see("/guests")
}

// getGuest only shows a button: programs that look at links in messages before people do must not use anything up, and a visit by GET
// changes nothing.
func getGuest(v *visit) error {
	if _, err := v.deps.Accounts.Guest(v.ctx, v.param("secret")); err != nil {
		return v.guestRefused(err)
	}
	return v.desk(deskView{Answer: "You are invited to read one job", Lead: []string{"This browser remembers it until the link ends."}, Form: form{Submit: "Open the job"}})
}

func postGuest(v *visit) error {
	secret := v.param("secret")
	in, err := v.deps.Accounts.Guest(v.ctx, secret)
	if err != nil {
		return v.guestRefused(err)
	}
	if v.deps.Invite == nil {
		return jobs.ErrNotFound
	}
	v.deps.Invite(v.c, secret, in.Guest.Until)
	return v.see("/jobs/" + in.Guest.Job)
}

func (v *visit) guestRefused(err error) error {
	if says, ok := refusal(err); ok {
		v.c.Status(404)
		return v.desk(deskView{Answer: "This link opens nothing", Lead: []string{says}})
	}
	return err
}
