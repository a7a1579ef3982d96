package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"tacet/client/home"
	"tacet/jobs"
)

type queueCmd struct {
	JSON bool `name:"json" help:"As JSON."`
}

// queueLine is one layer that waits, with its job.
type queueLine struct {
	Job     string `json:"job"`
	JobName string `json:"job_name"`
	jobs.QueueView
}

// Run lists what waits for the supervisor on all jobs, by the planned time of covering.
func (c *queueCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		all, err := everyJob(s, h)
		if err != nil {
			return err
		}
		lines := []queueLine{}
		for _, i := range jobs.Queue(all) {
			lines = append(lines, queueLine{Job: i.Job.ID, JobName: i.Job.Name, QueueView: i.View()})
		}
		if c.JSON {
			return s.writeJSON(lines)
		}
		if len(lines) == 0 {
			_, err := fmt.Fprintln(s.Out, "Nothing waits to be seen.")
			return err
		}
		return s.table(func(w io.Writer) {
			for _, l := range lines {
				at := "no time planned"
				if l.CoverAt != nil {
					at = "covering " + *l.CoverAt
				}
				fmt.Fprintf(w, "%s\t%s layer %d\t%s\t%s\t%s\t%s\n", l.JobName, l.Surface, l.Layer, strings.ReplaceAll(string(l.Why), "_", " "), at, l.Because, l.Rule)
			}
		})
	})
}

type dueCmd struct {
	JSON bool `name:"json" help:"As JSON."`
	All  bool `help:"With those that are not due yet and those that are done."`
}

// dueLine is one follow-up of one job.
type dueLine struct {
	Job      string        `json:"job"`
	JobName  string        `json:"job_name"`
	Month    int           `json:"month"`
	At       string        `json:"at"`
	State    jobs.DueState `json:"state"`
	DaysLate int           `json:"days_late"`
}

// Run lists the follow-ups that are due on all jobs.
func (c *dueCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		all, err := everyJob(s, h)
		if err != nil {
			return err
		}
		lines, now := []dueLine{}, time.Now()
		for _, j := range all {
			for _, d := range j.Due(now) {
				if c.All || d.State == jobs.DueNow {
					lines = append(lines, dueLine{j.ID, j.Name, d.Month, d.At.UTC().Format(time.RFC3339), d.State, d.DaysLate})
				}
			}
		}
		if c.JSON {
			return s.writeJSON(lines)
		}
		if len(lines) == 0 {
			_, err := fmt.Fprintln(s.Out, "Nobody has to be asked now.")
			return err
		}
		return s.table(func(w io.Writer) {
			for _, l := range lines {
				fmt.Fprintf(w, "%s\tmonth %d\t%s\t%s\n", l.JobName, l.Month, l.At[:len(time.DateOnly)], strings.ReplaceAll(string(l.State), "_", " "))
			}
		})
	})
}

// everyJob reads all jobs of the home, the firm's own among them.
func everyJob(s *session, h *home.Home) ([]*jobs.Job, error) {
	rows, err := h.Replica.Jobs(s.ctx, h.Me.Company)
	if err != nil {
		return nil, err
	}
	firm, err := h.FirmJob(s.ctx)
	if err != nil {
		return nil, err
	}
	all := []*jobs.Job{firm}
	for _, row := range rows {
		if row.ID == firm.ID {
			continue
		}
		j, err := h.Replica.Job(s.ctx, h.Me.Company, row.ID)
		if err != nil {
			return nil, err
		}
		all = append(all, j)
	}
	return all, nil
}
