package pages

import (
	"strconv"

	"tacet/jobs"
)

// looksShown keeps the page light; an export of a person has all of theirs.
const looksShown = 200

func getLooks(v *visit) error {
	list, err := v.deps.Accounts.Looks(v.ctx, v.who.Company, "", looksShown)
	if err != nil {
		return err
	}
	names, err := v.namesOfAll()
	if err != nil {
		return err
	}
	group := deskGroup{Title: "Newest first", Empty: "Nobody has looked yet."}
	for _, l := range list {
		says := jobs.Capital(l.What)
		if l.About != "" {
			says += ": " + names.of(l.About)
		}
		group.Rows = append(group.Rows, deskRow{Name: says, Says: []string{names.of(l.Person) + ", " + v.when(l.Last) + timesWords(l.Times) + "."}})
	}
	return v.desk(deskView{Answer: "Who looked", Where: []crumb{peopleCrumb, privacyCrumb},
		Lead:   []string{"Who read on this server what people said, took a copy of it, showed it to somebody from outside, or erased it. What a device has on it is read there without a line here.", "The newest " + strconv.Itoa(looksShown) + " lines are shown."},
		Groups: []deskGroup{group}})
}

func timesWords(n int64) string {
	if n == 1 {
		return ""
	}
	return ", " + strconv.FormatInt(n, 10) + " times in that hour"
}

// nameList knows what ids stand for.
type nameList map[string]string

func (l nameList) of(id string) string {
	if n := l[id]; n != "" {
		return n
	}
	return "id " + id[:min(8, len(id))]
}

func (v *visit) namesOfAll() (nameList, error) {
	names := nameList{}
	users, err := v.deps.Accounts.Users(v.ctx, v.who.Company)
	if err != nil {
		return nil, err
	}
	for _, u := range users {
		names[u.Person] = u.Name
	}
	guests, err := v.deps.Accounts.Guests(v.ctx, v.who.Company)
	if err != nil {
		return nil, err
	}
	for _, g := range guests {
		names[g.ID] = "The guest " + g.Name
	}
	rows, err := v.jobRows()
	if err != nil {
		return nil, err
	}
	for _, r := range rows {
		names[r.ID] = r.Name
	}
	return names, nil
}
