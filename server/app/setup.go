package app

import (
	"fmt"

	"tacet/jobs"
	"tacet/server/accounts"
)

type setUpCodeCmd struct{}

// Run makes a set-up code.
func (c *setUpCodeCmd) Run(r *run) error {
	return r.withNew(func(h *house) error {
		code, err := h.accounts.SetUpCode(r.ctx)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintln(r.out, code)
		return err
	})
}

type setUpCmd struct {
	Code          string `required:"" help:"The code that the server printed when it was started." placeholder:"CODE"`
	Company       string `required:"" help:"Name of the firm." placeholder:"NAME"`
	Login         string `required:"" help:"Login of its owner." placeholder:"LOGIN"`
	Name          string `help:"Name of the owner; the login if left out." placeholder:"NAME"`
	PasswordStdin bool   `help:"Read the owner's password from standard input; there is no other way to give it."`
}

// Run sets the server up; it prints the company's id.
func (c *setUpCmd) Run(r *run) error {
	password, err := readPassword(r.in, c.PasswordStdin)
	if err != nil {
		return err
	}
	return r.with(func(h *house) error {
		co, err := h.accounts.SetUp(r.ctx, c.Code, c.Company, accounts.User{Login: c.Login, Name: c.Name}, password, "")
		if err != nil {
			return err
		}
		_, err = fmt.Fprintln(r.out, co.ID)
		return err
	})
}

type keysRotateCmd struct{}

// Run changes the key of access tokens. Servers that run take the new one within half a minute.
func (c *keysRotateCmd) Run(r *run) error {
	return r.with(func(*house) error { return accounts.RotateKeys(r.folder.keys()) })
}

type userFactorCmd struct {
	Login string `arg:"" help:"Login of the user."`
}

// Run takes the second factor off.
func (c *userFactorCmd) Run(r *run) error {
	return r.with(func(h *house) error { return h.accounts.DropFactor(r.ctx, c.Login) })
}

type userRoleCmd struct {
	Login string `arg:"" help:"Login of the user."`
	Role  string `arg:"" enum:"site,supervisor,office,owner" help:"site, supervisor, office or owner."`
}

// Run changes the role.
func (c *userRoleCmd) Run(r *run) error {
	return r.with(func(h *house) error {
		u, err := h.accounts.UserByLogin(r.ctx, c.Login)
		if err != nil {
			return err
		}
		return h.accounts.SetRole(r.ctx, u.Company, u.Person, jobs.Role(c.Role))
	})
}

type userBackCmd struct {
	Login string `arg:"" help:"Login of the user."`
}

// Run gives access back.
func (c *userBackCmd) Run(r *run) error {
	return r.with(func(h *house) error { return h.accounts.Reinstate(r.ctx, c.Login) })
}
