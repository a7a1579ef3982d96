package main

import (
	"fmt"

	"tacet/client/home"
	"tacet/jobs"
	"tacet/sync/replica"
)

type verifyCmd struct {
	Job string `arg:"" name:"job" help:"Id, or a part of the name that fits no other job; or a zip file written by job archive."`
}

// Run checks a job, or the archive of one, against its bytes and says what that proves.
func (c *verifyCmd) Run(s *session) error {
	if isArchive(c.Job) {
		return s.verifyFile(c.Job)
	}
	return s.inHome(func(h *home.Home) error {
		row, err := h.Find(s.ctx, c.Job)
		if err != nil {
			return err
		}
		p, err := h.Replica.Prove(s.ctx, h.Me.Company, row.ID)
		if err != nil {
			return err
		}
		fmt.Fprintln(s.Err, replica.NotProved)
		_, err = fmt.Fprintf(s.Out, "%s: %s in %s, as written; %s and %s, which hold; not sealed yet: %s\n",
			row.Name, jobs.Count(p.Entries, "entry"), jobs.Count(p.Lanes, "lane"), jobs.Count(p.Seals, "seal"), jobs.Count(p.Receipts, "receipt"), jobs.Count(p.Unsealed, "entry"))
		return err
	})
}

type rebuildCmd struct{}

// Run makes the read tables anew; they must come out as they were.
func (c *rebuildCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		r, err := h.Replica.Rebuild(s.ctx)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(s.Out, "%s made anew from the entries, hash %s as before\n", jobs.Count(r.Jobs, "job"), r.Hash)
		return err
	})
}
