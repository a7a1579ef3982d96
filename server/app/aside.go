package app

import (
	"fmt"
	"io"
	"time"

	"tacet/acoustics"
	"tacet/jobs"
)

// asideLine is an entry that could not enter its lane.
type asideLine struct {
	Company string `json:"company"`
	Device  string `json:"device"`
	Run     int64  `json:"run"`
	Job     string `json:"job"`
	Kind    string `json:"kind"`
	By      string `json:"by"`
	At      string `json:"at"` // when the server got it
	Bytes   int    `json:"bytes"`
	Why     string `json:"why"`
	State   string `json:"state"`
	Says    string `json:"says"`
}

type asideListCmd struct {
	JSON bool `name:"json" help:"As JSON."`
}

// Run lists what lies aside.
func (c *asideListCmd) Run(r *run) error {
	return r.with(func(h *house) error {
		companies, err := h.store.Companies(r.ctx)
		if err != nil {
			return err
		}
		lines := []asideLine{}
		for _, co := range companies {
			list, err := h.replica.Asides(r.ctx, co, "")
			if err != nil {
				return err
			}
			for _, a := range list {
				lines = append(lines, asideLine{Company: co, Device: a.Dev, Run: a.Run, Job: a.Job, Kind: a.Kind, By: a.By, At: time.UnixMilli(a.At).UTC().Format(time.RFC3339),
					Bytes: len(a.Env) + len(a.Data), Why: string(a.Why), State: string(a.State), Says: a.Says})
			}
		}
		return r.print(c.JSON, lines, func(w io.Writer) {
			for _, l := range lines {
				fmt.Fprintf(w, "%s  %5d  %-12s %-8s %-8s %s  %s\n", l.Device, l.Run, l.Kind, l.Why, l.State, l.At, l.Says)
			}
		})
	})
}

type asideAdmitCmd struct {
	Device string `arg:"" help:"Id of the device."`
	Upto   int64  `help:"The last number to take, as aside list shows it; all if left out." placeholder:"RUN"`
}

// Run takes what lies aside into its lanes, where it waits for a supervisor's answer.
func (c *asideAdmitCmd) Run(r *run) error {
	if c.Upto < 0 {
		return &acoustics.InputError{Field: "--upto", Value: fmt.Sprint(c.Upto), Range: "1 and up"}
	}
	return r.with(func(h *house) error {
		co, err := h.companyOf(r, c.Device)
		if err != nil {
			return err
		}
		n, err := h.replica.AdmitAside(r.ctx, co, c.Device, c.Upto)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(r.talk, "In place, waiting for a supervisor's answer: %s. Until then nobody counts on it.\n", jobs.Count(n, "record"))
		return err
	})
}

type asideRefuseCmd struct {
	Device string `arg:"" help:"Id of the device."`
	Reason string `required:"" help:"Why nothing more of it is taken." placeholder:"TEXT"`
}

// Run notes that the rest is not taken. The bytes stay.
func (c *asideRefuseCmd) Run(r *run) error {
	return r.with(func(h *house) error {
		co, err := h.companyOf(r, c.Device)
		if err != nil {
			return err
		}
		n, err := h.replica.RefuseAside(r.ctx, co, c.Device, c.Reason)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(r.talk, "Not taken: %s. It stays where it is.\n", jobs.Count(n, "record"))
		return err
	})
}

// companyOf finds the company of a device.
func (h *house) companyOf(r *run, device string) (string, error) {
	list, err := h.accounts.Devices(r.ctx)
	if err != nil {
		return "", err
	}
	for _, d := range list {
		if d.ID == device {
			return d.Company, nil
		}
	}
	return "", fmt.Errorf("device %s: %w", device, jobs.ErrNotFound)
}
