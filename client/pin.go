package main

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"tacet/client/home"
	"tacet/jobs"
)

type pinCmd struct {
	Set  pinSetCmd  `cmd:"" help:"Give the person who is signed in here a PIN; the device is then shared, and its pages ask who it is."`
	Drop pinDropCmd `cmd:"" help:"Drop all PINs: the device is no longer shared."`
}

type pinSetCmd struct {
	PinStdin bool `name:"pin-stdin" help:"Read the PIN from standard input; there is no other way to give it."`
}

// Run sets the PIN.
func (c *pinSetCmd) Run(s *session) error {
	if !c.PinStdin {
		return &jobs.InputError{Field: "--pin-stdin", Hint: "the PIN comes on standard input, where no list of processes shows it"}
	}
	line, err := bufio.NewReader(io.LimitReader(s.In, 1<<10)).ReadString('\n')
	if err != nil && err != io.EOF {
		return fmt.Errorf("read the PIN: %w", err)
	}
	return s.inHome(func(h *home.Home) error {
		if err := h.SetPin(s.ctx, strings.TrimRight(line, "\r\n")); err != nil {
			return err
		}
		_, err := fmt.Fprintln(s.Err, "This device is shared: its pages ask for login and PIN. Pages that are open now have to be opened anew.")
		return err
	})
}

type pinDropCmd struct{}

// Run drops the PINs.
func (c *pinDropCmd) Run(s *session) error { return s.inHome((*home.Home).DropPins) }
