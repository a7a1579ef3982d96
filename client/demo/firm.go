package demo

import (
	"context"
	"crypto/rand"
	"fmt"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
)

// The firm, and who works there.
const (
	firmName   = "Quillmarsh Linings"
	supervisor = "maren"
	office     = "sunniva"
	lead       = "idris"
	fitter     = "pavo"

	shownJob = "7b Lantern Row"
	codeLife = 10 * time.Minute
)

var people = []struct {
	login, name string
	role        jobs.Role
}{
	{supervisor, "Maren Tolleby", jobs.Supervisor},
	{office, "Sunniva Brask", jobs.Office},
	{lead, "Idris Vaugh", jobs.Site},
	{fitter, "Pavo Lindqvist-Rao", jobs.Site},
}

// register makes the company and its people, as an office would. The password is drawn anew each time and opens nothing
// but this demonstration.
func (f *Firm) register(ctx context.Context) error {
	co, err := f.Server.Accounts.AddCompany(ctx, firmName)
	if err != nil {
		return err
	}
	f.notes.Company, f.notes.Password = co.ID, rand.Text()
	for _, p := range people {
		u, err := f.Server.Accounts.AddUser(ctx, accounts.User{Company: co.ID, Login: p.login, Name: p.name, Role: p.role}, f.notes.Password)
		if err != nil {
			return fmt.Errorf("add %s: %w", p.name, err)
		}
		f.notes.People[p.login] = u.Person
	}
	return nil
}

// author is one of the people as the author of records on the server.
func (f *Firm) author(login string) jobs.Author {
	for _, p := range people {
		if p.login == login {
			return jobs.Author{Person: f.notes.People[login], Role: p.role}
		}
	}
	return jobs.Author{}
}
