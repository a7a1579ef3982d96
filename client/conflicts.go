package main

import (
	"fmt"
	"io"
	"strconv"

	"tacet/client/home"
	"tacet/jobs"
	"tacet/server/commandline"
	"tacet/sync/replica"
)

type conflictsCmd struct {
	Job  string `arg:"" optional:"" help:"Id, or a part of the name that fits no other job; all jobs if left out."`
	JSON bool   `name:"json" help:"As JSON."`
}

// conflict is one thing on which records do not agree.
type conflict struct {
	Job     string  `json:"job"`
	JobName string  `json:"job_name"`
	Surface string  `json:"surface"`
	Layer   *int    `json:"layer"`
	Check   *string `json:"check"`
	About   string  `json:"about"`
	Heads   []side  `json:"heads"`
}

// side is one of the records that do not agree.
type side struct {
	jobs.HeadView
	ByName string `json:"by_name"`
}

// Run lists what is disputed. Exit 3 says that something is.
func (c *conflictsCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		rows, err := c.rows(s, h)
		if err != nil {
			return err
		}
		list, err := conflictsIn(s, h, rows)
		if err != nil {
			return err
		}
		if c.JSON {
			err = s.writeJSON(list)
		} else {
			err = printConflicts(s.Out, list)
		}
		if err == nil && len(list) > 0 {
			err = commandline.Quiet(3)
		}
		return err
	})
}

func (c *conflictsCmd) rows(s *session, h *home.Home) ([]replica.JobRow, error) {
	if c.Job == "" {
		return h.Replica.Jobs(s.ctx, h.Me.Company)
	}
	row, err := h.Find(s.ctx, c.Job)
	return []replica.JobRow{row}, err
}

func conflictsIn(s *session, h *home.Home, rows []replica.JobRow) ([]conflict, error) {
	names, err := h.Names(s.ctx)
	if err != nil {
		return nil, err
	}
	list := []conflict{}
	for _, row := range rows {
		j, err := h.Replica.Job(s.ctx, h.Me.Company, row.ID)
		if err != nil {
			return nil, err
		}
		for _, d := range j.DisputeViews() {
			f := conflict{Job: j.ID, JobName: j.Name, Surface: d.Surface, About: d.About}
			if d.Layer > 0 {
				f.Layer = &d.Layer
			}
			if d.Check != "" {
				f.Check = &d.Check
			}
			for _, head := range d.Heads {
				f.Heads = append(f.Heads, side{HeadView: head, ByName: nameOr(names, head.By)})
			}
			list = append(list, f)
		}
	}
	return list, nil
}

func printConflicts(out io.Writer, list []conflict) error {
	p := &printer{w: out}
	if len(list) == 0 {
		p.line("Nothing is disputed.")
	}
	for _, f := range list {
		where := f.Surface
		if f.Layer != nil {
			where += " layer " + strconv.Itoa(*f.Layer)
		}
		p.line("%s, %s: %s", f.JobName, where, f.About)
		p.columns(func(w io.Writer) {
			for _, h := range f.Heads {
				fmt.Fprintf(w, "    %s\t%s\t%s\tevidence %d\t%s\n", h.At, h.ByName, h.Says, h.Evidence, h.ID)
			}
		})
		p.line("    All are kept. It counts as not passed until a supervisor rules.")
	}
	return p.err
}
