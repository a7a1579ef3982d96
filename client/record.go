package main

import (
	"fmt"
	"path/filepath"

	"tacet/client/home"
)

// maxRecord is the most that one batch may hold, in bytes.
const maxRecord = 8 << 20

type recordCmd struct {
	Job   string   `arg:"" help:"Id, or a part of the name that fits no other job; firm for what is true for all jobs: materials, prices, targets, rules."`
	File  string   `required:"" help:"JSON file with one object or a list of them, or - for standard input." placeholder:"FILE"`
	Photo []string `sep:"none" help:"A photo, JPEG or PNG up to 12 MiB; may be given several times." placeholder:"FILE"`
}

// Run records the whole batch or nothing. An id is printed only once its entry can no longer be lost.
func (c *recordCmd) Run(s *session) error {
	data, err := s.readAll(c.File, maxRecord)
	if err != nil {
		return err
	}
	beside := ""
	if c.File != "-" {
		beside = filepath.Dir(c.File)
	}
	return s.inHome(func(h *home.Home) error {
		row, err := h.Find(s.ctx, c.Job)
		if err != nil {
			return err
		}
		done, err := h.Record(s.ctx, row.ID, home.Batch{JSON: data, Beside: beside, Photos: c.Photo})
		if err != nil {
			return err
		}
		for _, line := range done.Unseen {
			fmt.Fprintln(s.Err, line)
		}
		for _, e := range done.Entries {
			if _, err := fmt.Fprintln(s.Out, e.ID); err != nil {
				return err
			}
		}
		return nil
	})
}
