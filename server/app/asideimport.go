package app

import (
	"errors"
	"fmt"
	"os"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/server/phone"
)

type asideImportCmd struct {
	File string `arg:"" help:"File that a phone saved because it could not send." placeholder:"FILE"`
}

// Run takes in what a phone could not send.
func (c *asideImportCmd) Run(r *run) error {
	f, err := os.Open(c.File)
	if err != nil {
		return &acoustics.InputError{Field: "file", Value: err.Error()}
	}
	return errors.Join(r.with(func(h *house) error {
		info, err := f.Stat()
		if err != nil {
			return err
		}
		i, err := phone.Import(r.ctx, h.replica, h.accounts, f, info.Size())
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(r.talk, "Device %s: new here %s, of them held %d; here already %d; aside, because the device was cut off, %d; %s.\n", i.Device, jobs.Count(i.Entries, "record"), i.Held, i.Known, i.Aside, jobs.Count(i.Photos, "photo"))
		return err
	}), f.Close())
}
