package main

import (
	"errors"
	"fmt"
	"net"
	"path/filepath"

	"tacet/client/demo"
	"tacet/client/home"
	"tacet/client/runner"
)

type demoCmd struct {
	Once   bool   `help:"Print the summary and end."`
	Fresh  bool   `help:"Start over instead of going on with what is there."`
	Listen string `default:"127.0.0.1:7411" help:"Address of the pages on this machine; a free port is taken if it is in use." placeholder:"ADDR"`
}

// Run plays an invented firm through the real path, says how its job stands, and serves the pages until stopped.
func (c *demoCmd) Run(s *session) (err error) {
	fmt.Fprintln(s.Err, "If this was started with go run: the first start fetches and compiles for two minutes or so, later ones do not.")
	fmt.Fprintln(s.Err, "Everything here is invented: firm, people, house and figures.")
	if err := onThisMachine(c.Listen); err != nil {
		return err
	}
	dir := filepath.Join(s.dir, "demo")
	if at := demo.Running(s.ctx, dir); at != "" {
		return fmt.Errorf("the demonstration is running already, its server at %s; stop it first, or give another folder with --home", at)
	}
	f, err := demo.Open(s.ctx, demo.Config{Dir: dir, Fresh: c.Fresh, Say: func(line string) { fmt.Fprintln(s.Err, line) }})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if err := demoSummary(s, f); err != nil {
		return err
	}
	if c.Once {
		return nil
	}
	p := &printer{w: s.Out}
	p.line("")
	p.line("Supervisor's pages   %s   sign in as %s, password %s", f.Server.URL, f.Login, f.Password)
	p.line("Lead fitter's tablet:")
	if p.err != nil {
		return p.err
	}
	return servePages(s, f.Tablet, freeListen(c.Listen))
}

// freeListen is the address, or one with a free port where somebody has it: two demonstrations may run.
func freeListen(listen string) string {
	ln, err := net.Listen("tcp", listen)
	if err == nil && ln.Close() == nil {
		return listen
	}
	return "127.0.0.1:0"
}

// demoSummary prints the job as the tablet has it, what is disputed, how each device stands, and where the sheets are.
func demoSummary(s *session, f *demo.Firm) error {
	j, err := f.JobOn(s.ctx, f.Tablet)
	if err != nil {
		return err
	}
	if err := showJob(s.Out, j.View()); err != nil {
		return err
	}
	rows, err := f.Tablet.Replica.Jobs(s.ctx, f.Tablet.Me.Company)
	if err != nil {
		return err
	}
	disputed, err := conflictsIn(s, f.Tablet, rows)
	if err != nil {
		return err
	}
	p := &printer{w: s.Out}
	p.line("")
	p.line("Conflicts  %d", len(disputed))
	if p.err == nil {
		p.err = printConflicts(s.Out, disputed)
	}
	p.line("")
	p.line("Sync")
	for _, d := range []struct {
		name string
		home *home.Home
	}{{"tablet", f.Tablet}, {"phone", f.Phone}} {
		rep, err := d.home.Sync(s.ctx)
		if err != nil {
			return err
		}
		p.line("    %-8s %s", d.name, runner.Line(rep, nil))
	}
	same, err := sameOnBoth(s, f)
	if err != nil {
		return err
	}
	p.line("    both devices print the same bytes for the job: %s", yesNo(same))
	if _, err := writeSheets(f.Tablet, j, nil, f.Sheets()); err != nil {
		return err
	}
	p.line("")
	p.line("Site sheets  %s", f.Sheets())
	return p.err
}

func sameOnBoth(s *session, f *demo.Firm) (bool, error) {
	var prints [2][]byte
	for i, h := range []*home.Home{f.Tablet, f.Phone} {
		j, err := h.Replica.Settled(s.ctx, h.Me.Company, f.Job)
		if err != nil {
			return false, err
		}
		if prints[i], err = j.Export(); err != nil {
			return false, err
		}
	}
	return string(prints[0]) == string(prints[1]), nil
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}
