package pages

import (
	"slices"
	"strconv"
	"strings"

	"tacet/jobs"
	"tacet/server/privacy"
)

// ordered says in whose name a class goes by itself.
func (v *visit) ordered(k privacy.Kept) (string, error) {
	left, err := v.privacy().Left(v.ctx, v.who.Company, k)
	if err != nil {
		return "", err
	}
	if left {
		return "An owner who is none any more ordered that it goes by itself: nothing goes until another orders it.", nil
	}
	u, err := v.deps.Accounts.User(v.ctx, v.who.Company, k.By)
	return "Erased each day by itself, as " + u.Name + " ordered.", err
}

func byDefault(k privacy.Kept) string {
	if k.Now == k.Days {
		return ", as by default"
	}
	return "; by default " + daysWords(k.Days)
}

// daysWords says days in years where they are whole ones.
func daysWords(n int) string {
	if n >= 365 && n%365 == 0 {
		return jobs.Count(n/365, "year")
	}
	return jobs.Count(n, "day")
}

func (v *visit) timesView() (deskView, error) {
	kept, err := v.privacy().Classes(v.ctx, v.who.Company)
	if err != nil {
		return deskView{}, err
	}
	view := deskView{Answer: "For how long what is kept", Where: []crumb{peopleCrumb, privacyCrumb},
		Lead: []string{"Counted from the last thing that was recorded on the job; for people, from the day on which their access ended. Unless an owner orders otherwise below, nothing that was recorded is erased before an owner has seen what it is; who looked goes by itself."},
		Form: form{Submit: "Keep it so"}}
	itself := field{Kind: "box", Name: itselfField, Label: "Erase by itself, each day, what is over its time", Hint: "In your name, without anybody looking at it first. It can't be brought back. The server's log and the list of who looked say each time what went."}
	for _, k := range kept {
		if k.Hand == "" && !k.Itself {
			itself.Options = append(itself.Options, option{Value: k.Code, Label: k.Name, Checked: k.By != ""})
		}
		if k.Hand == "" {
			view.Form.Fields = append(view.Form.Fields, field{Kind: "decimal", Name: k.Code, Label: k.Name, Hint: k.Why + " By default " + daysWords(k.Days) + ".", Unit: "days", Value: strconv.Itoa(k.Now)})
		}
	}
	view.Form.Fields = append(view.Form.Fields, itself, confirmErasing())
	return view, nil
}

// itselfField names the classes that go by themselves.
const itselfField = "itself"

func getTimes(v *visit) error {
	view, err := v.timesView()
	if err != nil {
		return err
	}
	return v.desk(view)
}

func postTimes(v *visit) error {
	view, err := v.timesView()
	if err != nil {
		return err
	}
	said := map[string]privacy.Setting{}
	itself := formValues(v.c, itselfField)
	for _, f := range view.Form.Fields {
		if f.Kind != "decimal" {
			continue
		}
		n, err := strconv.Atoi(strings.TrimSpace(v.c.FormValue(f.Name)))
		if err != nil {
			return v.refuse(view, &jobs.InputError{Field: f.Name, Value: "not a whole number", Range: "1 and up", Unit: "days"})
		}
		said[f.Name] = privacy.Setting{Days: n, Itself: slices.Contains(itself, f.Name)}
	}
	if err := v.confirmed(); err != nil {
		return v.refuse(view, err)
	}
	if err := v.privacy().Set(v.ctx, v.who.Company, v.who.Person, said); err != nil {
		return v.refuse(view, err)
	}
	if err := v.note("changed how long what is kept", ""); err != nil {
		return err
	}
	return v.see("/privacy")
}

func (v *visit) oldView() (deskView, error) {
	due, err := v.privacy().Due(v.ctx, v.who.Company)
	if err != nil {
		return deskView{}, err
	}
	view := deskView{Answer: "Nothing is over its time", Where: []crumb{peopleCrumb, privacyCrumb}}
	group := deskGroup{Title: "What would be erased"}
	for _, d := range due {
		if d.Count == 0 {
			continue
		}
		row := deskRow{Name: d.Name, Says: []string{jobs.Capital(jobs.Count(d.Count, "record")) + ", kept for " + daysWords(d.Now) + "."}}
		if !d.Oldest.IsZero() {
			row.Says = append(row.Says, "The oldest is of "+v.when(d.Oldest)+".")
		}
		group.Rows = append(group.Rows, row)
	}
	if len(group.Rows) > 0 {
		view.Answer, view.Groups = "Erase what is over its time", []deskGroup{group}
		view.Lead = []string{"What is erased can't be brought back by anybody. What was built, measured and decided stays."}
		view.Form = form{Submit: "Erase it", Fields: []field{confirmErasing()}}
	}
	return view, nil
}

func getOld(v *visit) error {
	view, err := v.oldView()
	if err != nil {
		return err
	}
	return v.desk(view)
}

func postOld(v *visit) error {
	view, err := v.oldView()
	if err != nil {
		return err
	}
	if err := v.confirmed(); err != nil {
		return v.refuse(view, err)
	}
	if _, err := v.privacy().Apply(v.ctx, v.who.Company, v.who.Author()); err != nil {
		return v.refuse(view, err)
	}
	if err := v.note("erased what was over its time", ""); err != nil {
		return err
	}
	return v.see("/privacy")
}
