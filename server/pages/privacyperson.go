package pages

import (
	"bytes"
	"context"
	"slices"
	"strconv"

	"tacet/jobs"
	"tacet/server/privacy"
)

func searchView(words string) deskView {
	return deskView{Answer: "What is held about somebody", Where: []crumb{peopleCrumb, privacyCrumb},
		Lead: []string{"For people without an account: a client, a neighbour. Give their name as it may have been written down; search again for other spellings. For people of the firm, open their page under People."},
		Form: form{Submit: "Look for it", Fields: []field{{Kind: "text", Name: "words", Label: "Name or words", Hint: "At least " + strconv.Itoa(privacy.MinWords) + " characters.", Value: words}}}}
}

func getSearch(v *visit) error {
	if v.c.Query("work") != "" {
		return v.besideNow("/privacy/search")
	}
	return v.desk(searchView(""))
}

func postSearch(v *visit) error {
	s := privacy.Subject{Words: v.c.FormValue("words")}
	if err := s.Check(); err != nil {
		return v.refuse(searchView(s.Words), err)
	}
	return v.held(s, func(v *visit, f *privacy.File) error {
		view := v.fileView(f)
		view.Form = searchView(s.Words).Form
		return v.desk(view)
	})
}

func getPersonData(v *visit) error {
	if v.c.Query("work") != "" {
		return v.besideNow(v.c.Path())
	}
	return v.held(privacy.Subject{Person: v.param("person")}, func(v *visit, f *privacy.File) error { return v.desk(v.fileView(f)) })
}

// held looks for all that is held about somebody and shows it.
func (v *visit) held(s privacy.Subject, show func(*visit, *privacy.File) error) error {
	p, co := v.privacy(), v.who.Company
	return v.beside(func(ctx context.Context, read func() error) (func(*visit) error, error) {
		p.Read = read
		f, err := p.Find(ctx, co, s)
		return func(v *visit) error { return show(v, f) }, err
	})
}

// getFound shows what a form about somebody led to.
func getFound(v *visit) error { return v.besideNow("/privacy/search") }

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
			do.Rows = append(do.Rows, deskRow{Name: "Erase what names them", Says: []string{jobs.Capital(jobs.Count(n, "record")) + " can be erased."}, Do: []deskButton{{"/privacy/erase", "Erase it", about}}})
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
	p, co, firm, s := v.privacy(), v.who.Company, v.who.Firm, v.asked()
	return v.beside(func(ctx context.Context, read func() error) (func(*visit) error, error) {
		p.Read = read
		f, err := p.Find(ctx, co, s)
		if err != nil {
			return nil, err
		}
		var b bytes.Buffer
		if err := p.Write(ctx, &b, co, firm, f); err != nil {
			return nil, err
		}
		return func(v *visit) error {
			v.c.Set("Content-Type", "application/zip")
			v.c.Set("Content-Disposition", `attachment; filename="held.zip"`)
			v.c.Set("Cache-Control", "no-store")
			return v.c.Send(b.Bytes())
		}, nil
	})
}

func postErase(v *visit) error {
	s := v.asked()
	if v.c.FormValue("own") == "" {
		return v.held(s, func(v *visit, f *privacy.File) error { return v.desk(eraseView(f)) })
	}
	if err := v.confirmed(); err != nil {
		return v.held(s, func(v *visit, f *privacy.File) error { return v.refuse(eraseView(f), err) })
	}
	p, co, author := v.privacy(), v.who.Company, v.who.Author()
	return v.besideToEnd(func(ctx context.Context, read func() error) (func(*visit) error, error) {
		p.Read = read
		done, err := p.Erase(ctx, co, author, s)
		if err != nil {
			return func(v *visit) error {
				return v.held(s, func(v *visit, f *privacy.File) error { return v.refuse(eraseView(f), err) })
			}, nil
		}
		if err := p.Accounts.Note(ctx, co, author.Person, "erased what named somebody", s.Person); err != nil {
			return nil, err
		}
		return func(v *visit) error {
			return v.desk(deskView{Answer: jobs.Capital(jobs.Count(done.Records, "record")) + " erased", Where: []crumb{peopleCrumb, privacyCrumb},
				Lead: []string{"Each device follows at its next contact. Write a backup now, so that the newest file of keys holds theirs no more, and delete older files of keys."}})
		}, nil
	})
}

// eraseView asks whether what names somebody is to be erased for ever.
func eraseView(f *privacy.File) deskView {
	view := deskView{Answer: "Erase what names " + whom(f), Where: []crumb{peopleCrumb, privacyCrumb},
		Lead: []string{"In " + jobs.Count(len(f.Erasable()), "record") + " what people said and who they are can't be read any more, here and on every device after its next contact. The records themselves stay, and show that something was erased."},
		Form: form{Submit: "Erase it for ever", Hidden: []hidden{{"person", f.Subject.Person}, {"words", f.Subject.Words}}, Fields: []field{confirmErasing()}}}
	if n := len(f.Plain()); n > 0 {
		view.Lead = append(view.Lead, jobs.Capital(jobs.Count(n, "record"))+" also hold the words where nothing is sealed, such as the name of a room. They stay: the record cannot be changed.")
	}
	if slices.ContainsFunc(f.Erasable(), func(l privacy.Line) bool { return l.Kind == "job" }) {
		view.Lead = append(view.Lead, "The name and site of a job are among it: give the job another name afterwards, or it is known by nothing but its code.")
	}
	if f.Account != nil {
		view.Lead = append(view.Lead, "Name, login and mail address go too, and are in no backup: they stand in the file of keys alone.")
	}
	return view
}
