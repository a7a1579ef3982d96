package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"tacet/client/home"
	"tacet/jobs"
	"tacet/server/pages"
	"tacet/sync/archive"
	"tacet/sync/replica"
)

type archiveCmd struct {
	Job string `arg:"" help:"Id, or a part of the name that fits no other job."`
	Out string `required:"" short:"o" help:"Zip file to write." placeholder:"FILE.zip"`
}

// Run writes a job into one file: entries, photos, sheets, timeline and manifest.
func (c *archiveCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		j, err := h.Job(s.ctx, c.Job)
		if err != nil {
			return err
		}
		content, err := archive.Collect(s.ctx, h.Store, h.Me.Company, j.ID)
		if err != nil {
			return err
		}
		content.Made = time.Now()
		packing := s.progress("Packing", j)
		content.Photo = func(ctx context.Context, hash jobs.Hash) ([]byte, error) {
			if err := packing.at(ctx, hash); err != nil {
				return nil, err
			}
			return h.Replica.Photo(ctx, h.Me.Company, j.ID, hash)
		}
		opt, printing, err := s.packOptions(h, j, "")
		if err != nil {
			return err
		}
		content.Sheets, err = pages.Printed(j, content, opt)
		printing.far.done()
		if stopped := s.ctx.Err(); stopped != nil {
			return stopped
		}
		if err != nil {
			return err
		}
		err = putFile(c.Out, func(w io.Writer) error { return archive.Write(s.ctx, w, content) })
		packing.done()
		if err != nil {
			return err
		}
		fmt.Fprintf(s.Err, "%s of %s written to %s. Check it with: client verify %s\n", jobs.Count(len(content.Entries), "record"), j.Name, c.Out, c.Out)
		return nil
	})
}

// verifyFile checks the archive of a job against itself; no home is needed.
func (s *session) verifyFile(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return fileError(path, err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return fileError(path, err)
	}
	rep, err := archive.Verify(f, info.Size())
	if err != nil {
		return err
	}
	fmt.Fprintln(s.Err, replica.NotProved, archive.ForPeople)
	fmt.Fprintln(s.Err, "The keys come with the file: compare them with those that the firm's server gives out.")
	_, err = fmt.Fprintf(s.Out, "%s: %s in %s, as written; %s and %s, which hold; not sealed yet: %s; %s and %s, as listed; not arrived: %s\n",
		rep.Name, jobs.Count(rep.Entries, "entry"), jobs.Count(rep.Lanes, "lane"), jobs.Count(rep.Seals, "seal"), jobs.Count(rep.Receipts, "receipt"), jobs.Count(rep.Unsealed, "entry"),
		jobs.Count(rep.Files, "file"), jobs.Count(rep.Photos, "photo"), jobs.Count(rep.Missing, "photo"))
	return err
}

// isArchive tells whether what was typed is a file and no job.
func isArchive(typed string) bool {
	info, err := os.Stat(typed)
	return filepath.Ext(typed) == ".zip" || err == nil && info.Mode().IsRegular()
}
