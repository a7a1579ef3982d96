package main

import (
	"bytes"
	"fmt"
	"time"

	"tacet/client/home"
	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/paper"
	"tacet/sync/durable"
)

type packCmd struct {
	Job     string `arg:"" help:"Id, or a part of the name that fits no other job."`
	Out     string `required:"" short:"o" help:"PDF file to write." placeholder:"FILE.pdf"`
	Contact string `help:"Who the client may call, as it is printed." placeholder:"TEXT"`
}

// Run prints the handover pack of a job.
func (c *packCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		j, err := h.Job(s.ctx, c.Job)
		if err != nil {
			return err
		}
		pack, missing, err := s.handoverPack(h, j, c.Contact)
		if err != nil {
			return err
		}
		if err := putFile(c.Out, durable.Bytes(pack)); err != nil {
			return err
		}
		if missing > 0 {
			fmt.Fprintf(s.Err, "%s not on this device yet: their frames are empty.\n", jobs.Count(missing, "photo"))
		}
		fmt.Fprintf(s.Err, "Handover pack for %s written to %s.\n", j.Name, c.Out)
		return nil
	})
}

// handoverPack prints the pack of a job, and tells how many photos have not arrived.
func (s *session) handoverPack(h *home.Home, j *jobs.Job, contact string) (pdf []byte, missing int, err error) {
	opt, now, err := s.packOptions(h, j, contact)
	if err != nil {
		return nil, 0, err
	}
	var b bytes.Buffer
	err = paper.WritePack(&b, pages.Pack(j, opt))
	now.far.done()
	if stopped := s.ctx.Err(); stopped != nil {
		return nil, 0, stopped // frames that stayed empty for that are not those of photos that have not come
	}
	if err != nil {
		return nil, 0, fmt.Errorf("print pack: %w", err)
	}
	return b.Bytes(), now.missing, nil
}

// printing is how far a paper with photos is.
type printing struct {
	far     *progress
	missing int // photos that were asked for and are not here
}

// packOptions are what a pack shows beside the job.
func (s *session) packOptions(h *home.Home, j *jobs.Job, contact string) (pages.PackOptions, *printing, error) {
	names, err := h.Names(s.ctx)
	if err != nil {
		return pages.PackOptions{}, nil, err
	}
	now := &printing{far: s.progress("Printing", j)}
	photo := func(hash jobs.Hash) []byte {
		if now.far.at(s.ctx, hash) != nil {
			return nil
		}
		data, err := h.Replica.Photo(s.ctx, h.Me.Company, j.ID, hash)
		if err != nil {
			now.missing++ // one that is damaged is left out like one that has not come; verify names it
			return nil
		}
		return data
	}
	return pages.PackOptions{Firm: h.FirmName(), Contact: contact, Host: sheetHost(h.Me), Printed: time.Now(), Zone: time.Local, Names: names, Photo: photo}, now, nil
}
