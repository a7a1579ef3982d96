package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"tacet/client/home"
	"tacet/jobs"
	"tacet/sync/wire"
)

type enrolCmd struct {
	Server string `arg:"" help:"Address of the company's server, https://…; http:// is for this machine alone."`
	Code   string `required:"" help:"One-time code from the office." placeholder:"CODE"`
	Name   string `help:"Name of this device in the office's list; the machine's name if left out." placeholder:"NAME"`
}

// Run joins a company with all that the home holds.
func (c *enrolCmd) Run(s *session) error {
	if _, err := wire.NewHTTP(c.Server, "", nil); err != nil {
		return err // before anything is said about joining
	}
	return s.inHome(func(h *home.Home) error {
		name := c.Name
		if name == "" {
			name = machineName()
		}
		j, err := h.Join(s.ctx, c.Server, c.Code, name)
		if err != nil {
			return err
		}
		then := "client sync --once fetches what the company has."
		if j.Jobs > 0 {
			then = jobs.Count(j.Jobs, "job") + " came along and will be sent with the next sync."
		}
		fmt.Fprintf(s.Err, "Enrolled with %s as %s (%s). %s\n", j.Company, j.Person, j.Role, then)
		_, err = fmt.Fprintln(s.Out, h.Me.Device)
		return err
	})
}

func machineName() string {
	name, err := os.Hostname()
	if err != nil || name == "" {
		return "device"
	}
	return name
}

type signInCmd struct {
	Login         string `required:"" help:"Login at the company's server." placeholder:"LOGIN"`
	PasswordStdin bool   `help:"Read the password from standard input; there is no other way to give it."`
}

// Run signs somebody in on this device.
func (c *signInCmd) Run(s *session) error {
	if !c.PasswordStdin {
		return &jobs.InputError{Field: "--password-stdin", Hint: "the password comes on standard input, where no list of processes shows it"}
	}
	password, err := bufio.NewReader(io.LimitReader(s.In, 4<<10)).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return fmt.Errorf("read password: %w", err)
	}
	return s.inHome(func(h *home.Home) error {
		if err := h.SignIn(s.ctx, c.Login, strings.TrimRight(password, "\r\n")); err != nil {
			return err
		}
		fmt.Fprintf(s.Err, "Signed in as %s.\n", c.Login)
		return nil
	})
}
