package app

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/server/accounts"
)

type companyAddCmd struct {
	Name string `arg:"" help:"Name of the company."`
}

// Run adds the company.
func (c *companyAddCmd) Run(r *run) error {
	return r.withNew(func(h *house) error {
		company, err := h.accounts.AddCompany(r.ctx, c.Name)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintln(r.out, company.ID)
		return err
	})
}

type companyListCmd struct {
	JSON bool `name:"json" help:"As JSON."`
}

// Run lists the companies.
func (c *companyListCmd) Run(r *run) error {
	return r.with(func(h *house) error {
		list, err := h.accounts.Companies(r.ctx)
		if err != nil {
			return err
		}
		return r.print(c.JSON, list, func(w io.Writer) {
			for _, x := range list {
				fmt.Fprintf(w, "%s  %s\n", x.ID, x.Name)
			}
		})
	})
}

type userAddCmd struct {
	Company       string `required:"" help:"Id of the company." placeholder:"ID"`
	Login         string `required:"" help:"Unique on this server." placeholder:"LOGIN"`
	Name          string `help:"Name that others see; the login if left out." placeholder:"NAME"`
	Role          string `required:"" enum:"site,supervisor,office,owner" help:"site, supervisor, office or owner." placeholder:"ROLE"`
	PasswordStdin bool   `help:"Read the password from standard input; there is no other way to give it."`
}

// Run adds the user.
func (c *userAddCmd) Run(r *run) error {
	password, err := readPassword(r.in, c.PasswordStdin)
	if err != nil {
		return err
	}
	return r.with(func(h *house) error {
		u := accounts.User{Company: c.Company, Login: c.Login, Name: c.Name, Role: jobs.Role(c.Role)}
		_, err := h.accounts.AddUser(r.ctx, u, password)
		return err
	})
}

// readPassword reads one line.
func readPassword(in io.Reader, asked bool) (string, error) {
	if !asked {
		return "", &acoustics.InputError{Field: "--password-stdin", Hint: "the password comes on standard input, where no list of processes shows it"}
	}
	line, err := bufio.NewReader(io.LimitReader(in, 4<<10)).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return "", fmt.Errorf("read password: %w", err)
	}
	return strings.TrimRight(line, "\r\n"), nil
}

type userListCmd struct {
	Company string `required:"" help:"Id of the company." placeholder:"ID"`
	JSON    bool   `name:"json" help:"As JSON."`
}

// Run lists the users.
func (c *userListCmd) Run(r *run) error {
	return r.with(func(h *house) error {
		if _, err := h.accounts.Company(r.ctx, c.Company); err != nil {
			return err
		}
		list, err := h.accounts.Users(r.ctx, c.Company)
		if err != nil {
			return err
		}
		type line struct {
			ID    string `json:"id"`
			Login string `json:"login"`
			Name  string `json:"name"`
			Role  string `json:"role"`
		}
		lines := make([]line, len(list))
		for i, u := range list {
			lines[i] = line{u.Person, u.Login, u.Name, string(u.Role)}
		}
		return r.print(c.JSON, lines, func(w io.Writer) {
			for _, u := range lines {
				fmt.Fprintf(w, "%-20s %-10s %s\n", u.Login, u.Role, u.Name)
			}
		})
	})
}

type userPasswordCmd struct {
	Login         string `arg:"" help:"Login of the user."`
	PasswordStdin bool   `help:"Read the password from standard input; there is no other way to give it."`
}

// Run sets the password.
func (c *userPasswordCmd) Run(r *run) error {
	password, err := readPassword(r.in, c.PasswordStdin)
	if err != nil {
		return err
	}
	return r.with(func(h *house) error { return h.accounts.SetPassword(r.ctx, c.Login, password) })
}

type userEndCmd struct {
	Login string `arg:"" help:"Login of the user."`
}

// Run ends the user's access.
func (c *userEndCmd) Run(r *run) error {
	return r.with(func(h *house) error { return h.accounts.EndUser(r.ctx, c.Login) })
}

type enrolCodeCmd struct {
	Login string        `arg:"" help:"Login of the user."`
	Valid time.Duration `default:"10m" help:"How long the code may be used, 1m to 168h." placeholder:"10m"`
}

// Run makes the code.
func (c *enrolCodeCmd) Run(r *run) error {
	return r.with(func(h *house) error {
		code, err := h.accounts.EnrolCode(r.ctx, c.Login, c.Valid)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintln(r.out, code)
		return err
	})
}

type revokeCmd struct {
	Device string `arg:"" help:"Id of the device."`
}

// Run revokes the device.
func (c *revokeCmd) Run(r *run) error {
	return r.with(func(h *house) error { return h.accounts.Revoke(r.ctx, c.Device) })
}

type deviceListCmd struct {
	JSON bool `name:"json" help:"As JSON."`
}

// Run lists the devices.
func (c *deviceListCmd) Run(r *run) error {
	return r.with(func(h *house) error {
		list, err := h.devices(r.ctx)
		if err != nil {
			return err
		}
		return r.print(c.JSON, list, func(w io.Writer) {
			for _, d := range list {
				fmt.Fprintf(w, "%s  %-8s %-20s %s%s\n", d.ID, d.State, strings.Join(d.Logins, ", "), d.Name, d.from())
			}
		})
	})
}

// deviceLine is a device with what the record knows of it.
type deviceLine struct {
	accounts.Device
	Was  string  `json:"was"`       // the device that it goes on for, empty for most
	Last *string `json:"last_seen"` // when it last signed in or renewed its sign-in
}

func (d deviceLine) from() string {
	says := ""
	if d.Last != nil {
		says = ", last seen " + *d.Last
	}
	if d.Was != "" {
		says += ", goes on for " + d.Was
	}
	return says
}

func (h *house) devices(ctx context.Context) ([]deviceLine, error) {
	list, err := h.accounts.Devices(ctx)
	if err != nil {
		return nil, err
	}
	lines := []deviceLine{}
	for _, d := range list {
		l := deviceLine{Device: d}
		known, err := h.replica.Device(ctx, d.Company, d.ID)
		if err != nil && !errors.Is(err, jobs.ErrNotFound) {
			return nil, err
		}
		l.Was = known.Was
		last, err := h.accounts.LastSeen(ctx, d.Company, d.ID)
		if err != nil {
			return nil, err
		}
		if !last.IsZero() {
			at := last.UTC().Format(time.RFC3339)
			l.Last = &at
		}
		lines = append(lines, l)
	}
	return lines, nil
}

// print writes v as JSON or as text.
func (r *run) print(asJSON bool, v any, text func(io.Writer)) error {
	w := bufio.NewWriter(r.out)
	if asJSON {
		enc := json.NewEncoder(w)
		enc.SetEscapeHTML(false)
		enc.SetIndent("", "  ")
		if err := enc.Encode(v); err != nil {
			return err
		}
	} else {
		text(w)
	}
	return w.Flush()
}
