package pages

import (
	"cmp"
	"slices"
	"strings"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/sync/replica"
)

var _ = register(Page{Name: "desk", Path: "/people/:person/jobs", Roles: desk, Get: getGiven, Post: postGiven, View: deskView{}, When: hasAccounts})

// givenShown keeps the page light; others are found by their name.
const givenShown = 100

// narrowable tells whether jobs can be kept from a person: office and owner give the access, so nothing is kept from them.
func narrowable(u accounts.User) bool { return u.Role != jobs.Office && u.Role != jobs.Owner }

// givenView lists the jobs with whether the person sees each, those first of which something was said.
func (v *visit) givenView(u accounts.User, where []crumb, find string) (deskView, error) {
	view := deskView{Answer: "The jobs that " + u.Name + " sees", Where: where}
	if !narrowable(u) {
		view.Lead = []string{"All: office and owner see every job, because they give the access."}
		return view, nil
	}
	said, err := v.deps.Record.Statements(v.ctx, v.who.Company)
	if err != nil {
		return view, err
	}
	all, words := true, map[string]string{}
	for _, s := range said {
		switch {
		case s.ID != u.Person:
		case s.What == replica.AccessJobs:
			all = s.May
		case s.What == replica.AccessJob && s.May:
			words[s.Job] = "Given to them."
		case s.What == replica.AccessJob:
			words[s.Job] = "Taken away from them."
		}
	}
	rows, err := v.jobRows()
	if err != nil {
		return view, err
	}
	seen := rows
	if v.deps.Shown != nil {
		if seen, err = v.deps.Shown(v.ctx, Visitor{Company: u.Company, Person: u.Person, Role: u.Role}, rows); err != nil {
			return view, err
		}
	}
	many := len(rows)
	sees := make(map[string]bool, len(seen))
	for _, r := range seen {
		sees[r.ID] = true
	}
	at := where[len(where)-1].Href + "/jobs"
	rest := deskRow{Name: "Sees all jobs but those taken away", Says: []string{"New ones too."}, Do: []deskButton{{at, "Show only jobs that are given", []hidden{{"all", "no"}}}}}
	if !all {
		rest = deskRow{Name: "Sees only the jobs given, and those that they wrote down", Says: []string{"New ones are given one by one."}, Do: []deskButton{{at, "Show all jobs", []hidden{{"all", "yes"}}}}}
	}
	list := deskGroup{Title: "Job by job", Empty: "There is none."}
	if find != "" {
		list.Title, list.Empty = "Jobs with “"+find+"”", "None is called so."
	}
	rows = slices.DeleteFunc(slices.Clone(rows), func(r replica.JobRow) bool {
		return !strings.Contains(strings.ToLower(r.Name+" "+r.Site), strings.ToLower(find))
	})
	rank := func(r replica.JobRow) int { return min(len(words[r.ID]), 1) }
	slices.SortFunc(rows, func(a, b replica.JobRow) int {
		return cmp.Or(cmp.Compare(rank(b), rank(a)), cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID))
	})
	for i, r := range rows {
		if i == givenShown {
			list.Rows = append(list.Rows, deskRow{Name: "And " + jobs.Count(len(rows)-i, "more job"), Says: []string{"Find one by its name."}})
			break
		}
		row := deskRow{Href: "/jobs/" + r.ID, Name: r.Name, Says: []string{"Not given to them."}, Do: []deskButton{{at, "Give it", []hidden{{"job", r.ID}, {"may", "yes"}}}}}
		if sees[r.ID] {
			row.Says[0], row.Do[0] = "Seen by them.", deskButton{at, "Take it away", []hidden{{"job", r.ID}, {"may", "no"}}}
		}
		if w := words[r.ID]; w != "" {
			row.Says[0] = w
		}
		list.Rows = append(list.Rows, row)
	}
	view.Lead = []string{"Sees " + itoa(len(seen)) + " of " + jobs.Count(many, "job") + ".", "What is taken away is no longer shown to them on this server, and their devices get nothing new of it; what a device has stays on it, marked."}
	view.Groups = []deskGroup{{Title: "Jobs of which nothing else is said", Rows: []deskRow{rest}}, list}
	view.Form = form{Submit: "Find", Fields: []field{{Kind: "text", Name: "find", Label: "Find a job", Hint: "A part of its name or site.", Value: find}}}
	return view, nil
}

// given is the person that the path names, with the way back to them.
func (v *visit) given(find string) (accounts.User, deskView, error) {
	u, where, err := v.subject()
	if err != nil {
		return u, deskView{}, err
	}
	view, err := v.givenView(u, where, find)
	return u, view, err
}

func getGiven(v *visit) error {
	_, view, err := v.given("")
	if err != nil {
		return err
	}
	return v.desk(view)
}

// postGiven gives or takes one job, or says what holds for all others, or finds jobs.
func postGiven(v *visit) error {
	find := strings.TrimSpace(v.c.FormValue("find"))
	u, view, err := v.given(find)
	if err != nil {
		return err
	}
	all, job, may := v.c.FormValue("all"), v.c.FormValue("job"), v.c.FormValue("may")
	switch {
	case all == "yes" || all == "no":
		err = v.deps.Accounts.See(v.ctx, u.Company, u.Person, all == "yes")
	case job != "" && (may == "yes" || may == "no"):
		err = v.deps.Accounts.Give(v.ctx, u.Company, u.Person, job, may == "yes")
	case find != "":
		return v.desk(view)
	default:
		err = &jobs.InputError{Field: "find", Value: "nothing", Hint: "give a part of the name, or choose a job"}
	}
	if isNotFound(err) {
		return jobs.ErrNotFound
	}
	if err != nil {
		return v.refuse(view, err)
	}
	return v.see("/people/" + u.Person + "/jobs")
}
