package main

import (
	"errors"
	"fmt"
	"time"

	"tacet/client/home"
	"tacet/jobs"
)

type backupCmd struct {
	File string `arg:"" help:"Zip file to make."`
}

// Run backs the home up.
func (c *backupCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		if err := h.Backup(s.ctx, c.File, time.Now()); err != nil {
			return err
		}
		_, err := fmt.Fprintln(s.Err, "Written. The file holds this device's keys: keep it where nobody else gets at it.")
		return err
	})
}

type restoreCmd struct {
	File string `arg:"" help:"Zip file that client backup wrote."`
}

// Run restores a home.
func (c *restoreCmd) Run(s *session) error {
	h, kept, err := home.Restore(s.ctx, s.dir, c.File, time.Now())
	if err != nil {
		return err
	}
	if kept != "" {
		fmt.Fprintf(s.Err, "What was here before is kept in %s.\n", kept)
	}
	rows, err := h.Replica.Jobs(s.ctx, h.Me.Company)
	if err == nil {
		fmt.Fprintf(s.Err, "Restored: %s.\n", jobs.Count(len(rows), "job"))
		if h.Enrolled() {
			fmt.Fprintln(s.Err, "This home goes on as a new device. What was sent after the backup comes back with the next sync, and what was not sent is sent again, once.")
		}
		_, err = fmt.Fprintln(s.Out, h.Me.Device)
	}
	return errors.Join(err, h.Close())
}
