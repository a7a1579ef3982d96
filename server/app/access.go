package app

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/sync/replica"
)

// accessLine is one thing that was said about who sees which job.
type accessLine struct {
	Company string `json:"company"`
	Login   string `json:"login"`
	Person  string `json:"person"`
	Job     string `json:"job"` // empty: all jobs that nothing else is said of
	Name    string `json:"name"`
	May     bool   `json:"may"`
	At      string `json:"at"`
}

func (l accessLine) says() string {
	switch {
	case l.Job == "" && l.May:
		return "sees all jobs"
	case l.Job == "":
		return "sees only the jobs given"
	case l.May:
		return "sees " + l.Name
	}
	return "does not see " + l.Name
}

type accessListCmd struct {
	JSON bool `name:"json" help:"As JSON."`
}

// Run lists what was said. Of whom nothing was said sees everything.
func (c *accessListCmd) Run(r *run) error {
	return r.with(func(h *house) error {
		companies, err := h.accounts.Companies(r.ctx)
		if err != nil {
			return err
		}
		lines := []accessLine{}
		for _, co := range companies {
			part, err := h.accessOf(r.ctx, co.ID)
			if err != nil {
				return err
			}
			lines = append(lines, part...)
		}
		return r.print(c.JSON, lines, func(w io.Writer) {
			for _, l := range lines {
				fmt.Fprintf(w, "%-20s %s, since %s\n", l.Login, l.says(), l.At)
			}
			if len(lines) == 0 {
				fmt.Fprintln(r.talk, "Everybody sees all jobs of their company.")
			}
		})
	})
}

func (h *house) accessOf(ctx context.Context, co string) ([]accessLine, error) {
	said, err := h.replica.Statements(ctx, co)
	if err != nil {
		return nil, err
	}
	users, err := h.accounts.Users(ctx, co)
	if err != nil {
		return nil, err
	}
	rows, err := h.replica.Jobs(ctx, co)
	if err != nil {
		return nil, err
	}
	var lines []accessLine
	for _, a := range said {
		if a.What != replica.AccessJobs && a.What != replica.AccessJob {
			continue
		}
		l := accessLine{Company: co, Person: a.ID, Job: a.Job, Name: a.Job, May: a.May, At: time.UnixMilli(a.At).UTC().Format(time.RFC3339)}
		for _, u := range users {
			if u.Person == a.ID {
				l.Login = u.Login
			}
		}
		for _, j := range rows {
			if j.ID == a.Job {
				l.Name = j.Name
			}
		}
		lines = append(lines, l)
	}
	slices.SortStableFunc(lines, func(a, b accessLine) int { return strings.Compare(a.Login, b.Login) })
	return lines, nil
}

type accessNarrowCmd struct {
	Login string `arg:"" help:"Login of the user."`
}

// Run narrows what a person sees to the jobs that are given.
func (c *accessNarrowCmd) Run(r *run) error { return r.sees(c.Login, false) }

type accessWidenCmd struct {
	Login string `arg:"" help:"Login of the user."`
}

// Run shows a person all jobs again.
func (c *accessWidenCmd) Run(r *run) error { return r.sees(c.Login, true) }

func (r *run) sees(login string, all bool) error {
	return r.with(func(h *house) error {
		u, err := h.userOf(r.ctx, login)
		if err != nil {
			return err
		}
		return h.accounts.See(r.ctx, u.Company, u.Person, all)
	})
}

type accessGrantCmd struct {
	Login string `arg:"" help:"Login of the user."`
	Job   string `arg:"" help:"Id of the job, or a part of its name that fits no other."`
}

// Run gives a job to a person.
func (c *accessGrantCmd) Run(r *run) error { return r.give(c.Login, c.Job, true) }

type accessUngrantCmd struct {
	Login string `arg:"" help:"Login of the user."`
	Job   string `arg:"" help:"Id of the job, or a part of its name that fits no other."`
}

// Run takes a job away from a person.
func (c *accessUngrantCmd) Run(r *run) error { return r.give(c.Login, c.Job, false) }

func (r *run) give(login, job string, may bool) error {
	return r.with(func(h *house) error {
		u, err := h.userOf(r.ctx, login)
		if err != nil {
			return err
		}
		rows, err := h.replica.Jobs(r.ctx, u.Company)
		if err != nil {
			return err
		}
		var found []string
		for _, row := range rows {
			if row.ID == job || strings.Contains(strings.ToLower(row.Name), strings.ToLower(job)) {
				found = append(found, row.ID)
			}
		}
		switch {
		case len(found) == 0:
			return fmt.Errorf("job %q: %w", job, replica.ErrNoJob)
		case len(found) > 1 && !slices.Contains(found, job):
			return fmt.Errorf("job %q: %w", job, jobs.ErrAmbiguous)
		case slices.Contains(found, job):
			found[0] = job
		}
		return h.accounts.Give(r.ctx, u.Company, u.Person, found[0], may)
	})
}

// userOf finds a user by login.
func (h *house) userOf(ctx context.Context, login string) (accounts.User, error) {
	companies, err := h.accounts.Companies(ctx)
	if err != nil {
		return accounts.User{}, err
	}
	for _, c := range companies {
		users, err := h.accounts.Users(ctx, c.ID)
		if err != nil {
			return accounts.User{}, err
		}
		for _, u := range users {
			if u.Login == strings.ToLower(strings.TrimSpace(login)) {
				return u, nil
			}
		}
	}
	return accounts.User{}, fmt.Errorf("login %s: %w", login, jobs.ErrNotFound)
}
