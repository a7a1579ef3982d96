package main

import "tacet/server/evidence"

// evidenceCmd shows what the claims rest on.
type evidenceCmd struct {
	JSON bool `name:"json" help:"As JSON, with every check value and every row."`
}

// Run prints it.
func (c evidenceCmd) Run(s stdio) error {
	e, err := evidence.Gather()
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(s.Out, e)
	}
	return e.Print(s.Out)
}
