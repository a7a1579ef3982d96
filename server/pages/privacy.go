package pages

import (
	"bytes"
	"slices"
	"strconv"
	"strings"

	"tacet/jobs"
	"tacet/server/privacy"
)

var (
	_ = register(Page{Name: "desk", Path: "/privacy", Roles: desk, Get: getPrivacy, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/privacy/times", Roles: owners, Get: getTimes, Post: postTimes, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/privacy/old", Roles: owners, Get: getOld, Post: postOld, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/privacy/looks", Roles: owners, Get: getLooks, View: deskView{}, When: hasAccounts})
	_ = register(Page{Name: "desk", Path: "/privacy/search", Roles: desk, Get: getSearch, Post: postSearch, View: deskView{}, When: hasAccounts, Looks: "what is held about somebody"})
	_ = register(Page{Path: "/privacy/export", Roles: desk, Post: postExport, When: hasAccounts, Looks: "took a copy of what is held about somebody"})
	_ = register(Page{Name: "desk", Path: "/privacy/erase", Roles: desk, Post: postErase, View: deskView{}, When: hasAccounts})
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
			row.Says = append(row.Says, capital(jobs.Count(d.Count, "record"))+" over that time now.")
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
		row := deskRow{Name: d.Name, Says: []string{capital(jobs.Count(d.Count, "record")) + ", kept for " + daysWords(d.Now) + "."}}
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
		says := capital(l.What)
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

func searchView(words string) deskView {
	return deskView{Answer: "What is held about somebody", Where: []crumb{peopleCrumb, privacyCrumb},
		Lead: []string{"For people without an account: a client, a neighbour. Give their name as it may have been written down; search again for other spellings. For people of the firm, open their page under People."},
		Form: form{Submit: "Look for it", Fields: []field{{Kind: "text", Name: "words", Label: "Name or words", Hint: "At least " + strconv.Itoa(privacy.MinWords) + " characters.", Value: words}}}}
}

func getSearch(v *visit) error { return v.desk(searchView("")) }

func postSearch(v *visit) error {
	s := privacy.Subject{Words: v.c.FormValue("words")}
	f, err := v.privacy().Find(v.ctx, v.who.Company, s)
	if err != nil {
		return v.refuse(searchView(s.Words), err)
	}
	view := v.fileView(f)
	view.Form = searchView(s.Words).Form
	return v.desk(view)
}

func getPersonData(v *visit) error {
	f, err := v.privacy().Find(v.ctx, v.who.Company, privacy.Subject{Person: v.param("person")})
	if err != nil {
		return err
	}
	return v.desk(v.fileView(f))
}

// linesShown keeps the page light; the export has all.
const linesShown = 100

// fileView shows what was found, with what can be done about it.
func (v *visit) fileView(f *privacy.File) deskView {
	view := deskView{Answer: "Nothing names them", Where: []crumb{peopleCrumb, privacyCrumb}}
	about := []hidden{{"person", f.Subject.Person}, {"words", f.Subject.Words}}
	records := deskGroup{Title: "Records", Empty: "None."}
	for i, l := range f.Lines {
		if i == linesShown {
			records.Rows = append(records.Rows, deskRow{Name: "And " + jobs.Count(len(f.Lines)-i, "more record"), Says: []string{"All are in the copy."}})
			break
		}
		row := deskRow{Href: "/jobs/" + l.Job + "/history", Name: l.JobName + ", " + v.when(l.At), Says: []string{sentence(l.Says)}}
		if l.Job == v.who.Company {
			row.Href, row.Name = "", "The firm, "+v.when(l.At)
		}
		switch {
		case l.Names && !l.Sealed:
			row.Says = append(row.Says, "It names them where nothing is sealed: this stays.")
		case !l.Names:
			row.Says = append(row.Says, "Recorded by them.")
		}
		records.Rows = append(records.Rows, row)
	}
	if len(f.Lines)+len(f.Guests) > 0 || f.Account != nil {
		view.Answer = jobs.Count(len(f.Lines), "record") + " held about " + whom(f)
		if len(f.Lines) == 0 {
			view.Answer = "No record about " + whom(f)
		}
		do := deskGroup{Title: "What can be done", Rows: []deskRow{
			{Name: "A copy of all of it, to be given to them", Says: []string{"A zip file with a page that opens anywhere, tables and photos. Look through it before you give it away: what names others is not theirs."}, Do: []deskButton{{"/privacy/export", "Take a copy", about}}}}}
		if n := len(f.Erasable()); n > 0 || f.Account != nil && f.Account.Ended && f.Account.Name != jobs.Erased {
			do.Rows = append(do.Rows, deskRow{Name: "Erase what names them", Says: []string{capital(jobs.Count(n, "record")) + " can be erased."}, Do: []deskButton{{"/privacy/erase", "Erase it", about}}})
		}
		view.Groups = append(view.Groups, do)
	}
	if len(f.Devices) > 0 {
		g := deskGroup{Title: "Devices"}
		for _, d := range f.Devices {
			g.Rows = append(g.Rows, deskRow{Name: d.Name, Says: []string{"Enrolled " + v.when(d.Made) + "."}})
		}
		view.Groups = append(view.Groups, g)
	}
	if len(f.Guests) > 0 {
		g := deskGroup{Title: "Links for guests"}
		for _, l := range f.Guests {
			g.Rows = append(g.Rows, deskRow{Name: l.Name, Says: []string{"Good until " + v.when(l.Until) + "."}})
		}
		view.Groups = append(view.Groups, g)
	}
	view.Groups = append(view.Groups, records)
	return view
}

func whom(f *privacy.File) string {
	if f.Account != nil {
		return f.Account.Name
	}
	return "“" + f.Subject.Words + "”"
}

func (v *visit) asked() privacy.Subject {
	return privacy.Subject{Person: v.c.FormValue("person"), Words: v.c.FormValue("words")}
}

func postExport(v *visit) error {
	p := v.privacy()
	f, err := p.Find(v.ctx, v.who.Company, v.asked())
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := p.Write(v.ctx, &b, v.who.Company, v.who.Firm, f); err != nil {
		return err
	}
	v.c.Set("Content-Type", "application/zip")
	v.c.Set("Content-Disposition", `attachment; filename="held.zip"`)
	v.c.Set("Cache-Control", "no-store")
	return v.c.Send(b.Bytes())
}

func postErase(v *visit) error {
	s := v.asked()
	f, err := v.privacy().Find(v.ctx, v.who.Company, s)
	if err != nil {
		return err
	}
	view := deskView{Answer: "Erase what names " + whom(f), Where: []crumb{peopleCrumb, privacyCrumb},
		Lead: []string{"In " + jobs.Count(len(f.Erasable()), "record") + " what people said and who they are can't be read any more, here and on every device after its next contact. The records themselves stay, and show that something was erased."},
		Form: form{Submit: "Erase it for ever", Hidden: []hidden{{"person", s.Person}, {"words", s.Words}}, Fields: []field{confirmErasing()}}}
	if n := len(f.Plain()); n > 0 {
		view.Lead = append(view.Lead, capital(jobs.Count(n, "record"))+" also hold the words where nothing is sealed, such as the name of a room. They stay: the record cannot be changed.")
	}
	if slices.ContainsFunc(f.Erasable(), func(l privacy.Line) bool { return l.Kind == "job" }) {
		view.Lead = append(view.Lead, "The name and site of a job are among it: give the job another name afterwards, or it is known by nothing but its code.")
	}
	if f.Account != nil {
		view.Lead = append(view.Lead, "Name, login and mail address go too, and are in no backup: they stand in the file of keys alone.")
	}
	if v.c.FormValue("own") == "" {
		return v.desk(view)
	}
	if err := v.confirmed(); err != nil {
		return v.refuse(view, err)
	}
	done, err := v.privacy().Erase(v.ctx, v.who.Company, v.who.Author(), s)
	if err != nil {
		return v.refuse(view, err)
	}
	if err := v.note("erased what named somebody", s.Person); err != nil {
		return err
	}
	return v.desk(deskView{Answer: capital(jobs.Count(done.Records, "record")) + " erased", Where: []crumb{peopleCrumb, privacyCrumb},
		Lead: []string{"Each device follows at its next contact. Write a backup now, so that the newest file of keys holds theirs no more, and delete older files of keys."}})
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
	case v.c.Response().StatusCode() >= 400:
		return nil
	case v.who.Guest != "":
		return v.note("a job, by a link for guests", about)
	case v.page.Looks == "":
		return nil
	}
	return v.note(v.page.Looks, about)
}
