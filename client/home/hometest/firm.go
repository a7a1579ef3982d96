package hometest

import (
	"context"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/app"
)

// Name is the firm's, Password is everybody's.
const (
	Name     = "Quillmarsh Linings"
	Password = "a long enough password 4 tests"
)

// Firm is a server that runs until its test ends, or until it is stopped.
type Firm struct {
	*app.Running
	t       testing.TB
	stopped bool
}

// Start starts the server of a new firm with these people.
func Start(t testing.TB, people map[string]jobs.Role) *Firm {
	t.Helper()
	f := StartIn(t, t.TempDir())
	f.AddFirm(people)
	return f
}

// StartIn starts a server on the folder of one.
func StartIn(t testing.TB, dir string) *Firm {
	t.Helper()
	s, err := app.Start(t.Context(), app.Config{Folder: app.Folder{Dir: dir}, Listen: "127.0.0.1:0"})
	if err != nil {
		t.Fatal(err)
	}
	f := &Firm{Running: s, t: t}
	t.Cleanup(f.Stop)
	return f
}

// AddFirm makes the firm. Its people are known by their logins, and their names are these in capitals.
func (f *Firm) AddFirm(people map[string]jobs.Role) {
	f.t.Helper()
	co, err := f.Accounts.AddCompany(f.t.Context(), Name)
	if err != nil {
		f.t.Fatal(err)
	}
	for login, role := range people {
		u := accounts.User{Company: co.ID, Login: login, Name: strings.ToUpper(login), Role: role}
		if _, err := f.Accounts.AddUser(f.t.Context(), u, Password); err != nil {
			f.t.Fatal(err)
		}
	}
}

// Stop stops the server, if it still runs.
func (f *Firm) Stop() {
	f.t.Helper()
	if f.stopped {
		return
	}
	f.stopped = true
	if err := f.Running.Stop(); err != nil {
		f.t.Error(err)
	}
}

// Code is a code with which somebody enrols a device.
func (f *Firm) Code(login string) string {
	f.t.Helper()
	code, err := f.Accounts.EnrolCode(context.WithoutCancel(f.t.Context()), login, accounts.CodeLife)
	if err != nil {
		f.t.Fatal(err)
	}
	return code
}
