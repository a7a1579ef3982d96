package pages

import (
	"tacet/jobs"
	"tacet/server/privacy"
)

var (
	_ = register(Page{Name: "desk", Path: "/privacy", Roles: desk, Get: getPrivacy, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/privacy/times", Roles: owners, Get: getTimes, Post: postTimes, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/privacy/old", Roles: owners, Get: getOld, Post: postOld, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/privacy/looks", Roles: owners, Get: getLooks, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/privacy/search", Roles: desk, Get: getSearch, Post: postSearch, View: deskView{}, When: hasAccounts, Looks: "what is held about somebody"})
	_ = register(Page{Path: "/privacy/export", Roles: desk, Get: getFound, Post: postExport, When: hasAccounts, Looks: "took a copy of what is held about somebody"})
	_ = register(Page{Name: "desk", Path: "/privacy/erase", Roles: desk, Get: getFound, Post: postErase, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/people/:person/data", Roles: desk, Get: getPersonData, View: deskView{}, When: hasAccounts, Looks: "what is held about somebody"})
)

var owners = []jobs.Role{jobs.Owner}

var privacyCrumb = crumb{Text: "Privacy", Href: "/privacy"}

func (v *visit) privacy() *privacy.Desk {
	return &privacy.Desk{Record: v.deps.Record, Accounts: v.deps.Accounts, Blobs: v.deps.Blobs, Now: v.deps.Now}
}

// reach says what erasing does and what it does not.
var reach = deskGroup{Title: "What erasing reaches", Rows: []deskRow{
	{Name: "What is erased", Says: []string{"What people said and who they are; the name and site of a job; notes; who is named as having done something. It lies in the record sealed, each record under a key of its own.",
		"Erasing throws the key away here, on every device at its next contact, and in the file of keys that each backup writes, so old backups can't be read then. The record stays whole, and says that something was erased."}},
	{Name: "What stays", Says: []string{"Kept as evidence of what was built: who decided a caution, names of rooms and surfaces, what was written about the work itself. Write nobody's name there, and photograph nobody.",
		"A photo is erased one by one, beside the record that names it: on its surface, or in the history of the job. A backup that was made before holds it until that file is deleted.",
		"What was handed over on paper or as a file is out of reach."}}}}

func getPrivacy(v *visit) error {
	due, err := v.privacy().Due(v.ctx, v.who.Company)
	if err != nil {
		return err
	}
	group := deskGroup{Title: "How long what is kept"}
	over := 0
	for _, d := range due {
		row := deskRow{Name: d.Name, Says: []string{"For " + daysWords(d.Now) + byDefault(d.Kept) + ". " + d.Why}}
		switch {
		case d.Hand != "":
			row.Says = append(row.Says, d.Hand)
		case d.Count > 0:
			over += d.Count
			row.Says = append(row.Says, jobs.Capital(jobs.Count(d.Count, "record"))+" over that time now.")
		}
		if d.By != "" {
			says, err := v.ordered(d.Kept)
			if err != nil {
				return err
			}
			row.Says = append(row.Says, says)
		}
		group.Rows = append(group.Rows, row)
	}
	view := deskView{Answer: "What is kept about people", Where: []crumb{peopleCrumb},
		Lead:   []string{"Answer within one calendar month of the day on which somebody asks for what is held about them, or asks to have it erased."},
		Links:  []step{{"Look for what is held about somebody", "/privacy/search"}},
		Groups: []deskGroup{group, reach}}
	if over == 0 {
		view.Lead = append(view.Lead, "Nothing is over its time now.")
	}
	if v.who.Role == jobs.Owner {
		view.Links = append(view.Links, step{"Change the times", "/privacy/times"}, step{"Who looked", "/privacy/looks"})
		if over > 0 {
			view.Links = append(view.Links, step{"Erase what is over its time", "/privacy/old"})
		}
	}
	return v.desk(view)
}

// note notes what the visitor did with what is kept about people.
func (v *visit) note(what, about string) error {
	if v.deps.Accounts == nil || v.who.Person == "" {
		return nil
	}
	return v.deps.Accounts.Note(v.ctx, v.who.Company, v.who.Person, what, about)
}

// noteLook notes that the visitor was shown what the page shows about people.
func (v *visit) noteLook() error {
	about := v.param("job")
	if about == "" {
		about = v.param("person")
	}
	switch {
	case v.c.Response().StatusCode() >= 300:
		return nil // nothing was shown
	case v.who.Guest != "":
		return v.note("a job, by a link for guests", about)
	case v.page.Looks == "":
		return nil
	}
	return v.note(v.page.Looks, about)
}
