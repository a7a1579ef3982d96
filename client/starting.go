package main

import (
	"fmt"
	"io"
	"strings"

	"tacet/client/home"
	"tacet/jobs"
)

type buildUpsCmd struct {
	JSON bool `name:"json" help:"As JSON."`
}

// Run lists the starting build-ups. "specify" with "build_up" takes one.
func (c *buildUpsCmd) Run(s *session) error {
	if c.JSON {
		return s.writeJSON(jobs.BuildUps())
	}
	return s.table(func(w io.Writer) {
		for _, b := range jobs.BuildUps() {
			kinds := make([]string, len(b.Surfaces))
			for i, k := range b.Surfaces {
				kinds[i] = strings.ReplaceAll(string(k), "_", " ")
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", b.Code, strings.Join(kinds, ", "), b.Name, b.Use)
		}
	})
}

type targetsCmd struct {
	JSON bool `name:"json" help:"As JSON."`
}

// Run lists the targets that are known, the firm's own first, each with its source and how sure it is.
func (c *targetsCmd) Run(s *session) error {
	return s.inHome(func(h *home.Home) error {
		firm, err := h.FirmFacts(s.ctx)
		if err != nil {
			return err
		}
		sets := firm.TargetSets()
		if c.JSON {
			return s.writeJSON(sets)
		}
		p := &printer{w: s.Out}
		for _, t := range sets {
			p.line("%s  %s", t.ID, strings.Trim(t.Country+", "+t.Use, ", "))
			for _, f := range t.Figures {
				p.line("    %s  %s", f.Element, targetText(jobs.Target{Quantity: f.Quantity, ValueDB: f.ValueDB, Source: t.Source}))
			}
			for _, says := range []string{t.Dated, t.Sure, t.Note} {
				if says != "" {
					p.line("    %s", says)
				}
			}
		}
		return p.err
	})
}
