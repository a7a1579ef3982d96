package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"text/tabwriter"
	"time"

	"tacet/client/home"
	"tacet/jobs"
)

// maxImport is the most that a job file may hold, in bytes.
const maxImport = 8 << 20

type jobImportCmd struct {
	File  string `arg:"" help:"Job file, or - for standard input."`
	Again bool   `help:"Also where a job of the same name and site is here already, without a word."`
}

// Run takes in the whole file or nothing.
func (c *jobImportCmd) Run(s *session) error {
	data, err := s.readAll(c.File, maxImport)
	if err != nil {
		return err
	}
	edges, err := jobs.Import(data)
	if err != nil {
		return err
	}
	return s.inHome(func(h *home.Home) error {
		if err := c.twice(s, h, edges); err != nil {
			return err
		}
		id, err := h.NewJob(s.ctx, edges)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintln(s.Out, id)
		return err
	})
}

// twice says that a job of the same name and site is here already. A person at a terminal is asked to say that a second one is meant; a
// program that imports is told, and gets what it asked for.
func (c *jobImportCmd) twice(s *session, h *home.Home, edges []json.RawMessage) error {
	var head struct{ Name, Site string }
	if c.Again || len(edges) == 0 || json.Unmarshal(edges[0], &head) != nil {
		return nil
	}
	rows, err := h.Replica.Jobs(s.ctx, h.Me.Company)
	if err != nil {
		return err
	}
	for _, r := range rows {
		if r.Name != head.Name || r.Site != head.Site {
			continue
		}
		if s.atTerminal() {
			return &jobs.InputError{Field: "name", Value: strconv.Quote(head.Name), Hint: "a job of this name and site is here already, " + r.ID + "; to make a second one give --again"}
		}
		fmt.Fprintf(s.Err, "A job of this name and site is here already: %s. This makes a second one.\n", r.ID)
		return nil
	}
	return nil
}

type jobListCmd struct {
	JSON bool `name:"json" help:"As JSON."`
}

// jobLine is one job of the list.
type jobLine struct {
	ID      string `json:"id"`
	Name    string `json:"name"`
	Site    string `json:"site"`
	Entries int    `json:"entries"`
	Unsent  int    `json:"unsent"`
	Held    int    `json:"held"`
	Last    string `json:"last"`
}

// Run lists the jobs by name.
func (c *jobListCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		rows, err := h.Replica.Jobs(s.ctx, h.Me.Company)
		if err != nil {
			return err
		}
		lines := make([]jobLine, len(rows))
		for i, r := range rows {
			lines[i] = jobLine{ID: r.ID, Name: r.Name, Site: r.Site, Entries: r.Entries, Unsent: r.Unsent, Held: r.Held, Last: r.Last.Time().Format(time.RFC3339)}
		}
		if c.JSON {
			return s.writeJSON(lines)
		}
		if len(lines) == 0 {
			fmt.Fprintln(s.Err, "No jobs here yet. Take one in with: client job import FILE.json")
		}
		return s.table(func(w io.Writer) {
			for _, l := range lines {
				fmt.Fprintf(w, "%s\t%s\t%s\n", l.ID, l.Name, jobs.Count(l.Entries, "record"))
			}
		})
	})
}

type jobShowCmd struct {
	Job  string `arg:"" help:"Id, or a part of the name that fits no other job."`
	JSON bool   `name:"json" help:"As JSON."`
}

// Run shows a job with all that follows from its entries.
func (c *jobShowCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		j, err := h.Job(s.ctx, c.Job)
		if err != nil {
			return err
		}
		view := j.View()
		if c.JSON {
			return s.writeJSON(view)
		}
		return showJob(s.Out, view)
	})
}

type jobExportCmd struct {
	Job    string `arg:"" help:"Id, or a part of the name that fits no other job."`
	Unsent bool   `help:"With this device's own entries that the server does not have yet."`
}

// Run prints what stands, in its one form.
func (c *jobExportCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		row, err := h.Find(s.ctx, c.Job)
		if err != nil {
			return err
		}
		read := h.Replica.Settled
		if c.Unsent {
			read = h.Replica.Job
		}
		j, err := read(s.ctx, h.Me.Company, row.ID)
		if err != nil {
			return err
		}
		out, err := j.Export()
		if err != nil {
			return err
		}
		_, err = s.Out.Write(out)
		return err
	})
}

type jobHistoryCmd struct {
	Job  string `arg:"" help:"Id, or a part of the name that fits no other job."`
	JSON bool   `name:"json" help:"As JSON."`
}

// Run prints every entry, those that do not count included.
func (c *jobHistoryCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		row, err := h.Find(s.ctx, c.Job)
		if err != nil {
			return err
		}
		lines, err := h.History(s.ctx, row.ID)
		if err != nil {
			return err
		}
		if c.JSON {
			return s.writeJSON(lines)
		}
		names, err := h.Names(s.ctx)
		if err != nil {
			return err
		}
		return s.table(func(w io.Writer) {
			for _, l := range lines {
				mark := ""
				if !l.InForce {
					mark = "replaced"
				}
				if slices.Contains([]string{"held", "refused"}, l.State) {
					mark = l.State
				}
				fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", l.At[:min(19, len(l.At))], nameOr(names, l.Author), l.Says, l.ID, mark)
			}
		})
	})
}

// nameOr is a person's name, or the beginning of the id where the name is not known here (any more).
func nameOr(names map[string]string, id string) string {
	if n := names[id]; n != "" {
		return n
	}
	return id[:min(8, len(id))]
}

// writeJSON prints v as JSON for people and programs.
func (s *session) writeJSON(v any) error {
	enc := json.NewEncoder(s.Out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}

// writeLine prints v as one line of JSON.
func (s *session) writeLine(v any) error {
	enc := json.NewEncoder(s.Out)
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// table prints lines whose columns are separated by tabs.
func (s *session) table(write func(io.Writer)) error { return columns(s.Out, write) }

func columns(out io.Writer, write func(io.Writer)) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	write(w)
	return w.Flush()
}

// fileError says in one line what is wrong with a file that a person named.
func fileError(name string, err error) error {
	var p *os.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	return &jobs.InputError{Field: "file", Value: name, Hint: "it can't be read: " + err.Error()}
}

func tooLong(name string, limit int64) error {
	return &jobs.InputError{Field: "file", Value: name + ", too large", Range: fmt.Sprintf("at most %d", limit>>20), Unit: "MiB"}
}
