package app

import (
	"errors"
	"fmt"
	"os"

	"tacet/acoustics"
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
		_, err = fmt.Fprintf(r.talk, "Device %s: %d records are new here, %d of them held; %d were here already; %d lie aside, because the device was cut off; %d photos.\n", i.Device, i.Entries, i.Held, i.Known, i.Aside, i.Photos)
		return err
	}), f.Close())
}
