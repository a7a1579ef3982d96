package main

import (
	"fmt"

	"tacet/client/home"
	"tacet/client/runner"
	"tacet/sync/replica"
)

type syncCmd struct {
	Once bool `help:"Send and fetch once, then end; without it the exchange goes on until stopped."`
	JSON bool `name:"json" help:"As JSON (with --once)."`
}

// report is one exchange as it is printed.
type report struct {
	Sent     int `json:"sent"`
	Received int `json:"received"`
	Waiting  int `json:"waiting"`
	Held     int `json:"held"`
	Photos   int `json:"photos_waiting"`
}

func reportOf(r replica.Report) report {
	return report{Sent: r.Sent, Received: r.Received, Waiting: r.Waiting, Held: r.Held, Photos: r.Photos}
}

// Run exchanges with the server, once or until stopped. A count of what is done and left is printed in any case.
func (c *syncCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		if !h.Enrolled() {
			return replica.ErrNotEnrolled
		}
		if !c.Once {
			fmt.Fprintln(s.Err, "Sends and fetches until stopped with Ctrl-C; --once ends after one exchange.")
			run := runner.New(h.Sync, func(line string) { fmt.Fprintln(s.Err, line) })
			run.News, run.Position = h.News, h.Position
			return run.Run(s.ctx)
		}
		rep, err := h.Sync(s.ctx)
		if c.JSON {
			// one line, also when it was cut short: what is left is known either way
			if e := s.writeLine(reportOf(rep)); e != nil {
				return e
			}
			return err
		}
		if err == nil {
			_, err = fmt.Fprintln(s.Out, runner.Line(rep, nil))
		}
		return err
	})
}
