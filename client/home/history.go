package home

import (
	"context"

	"tacet/jobs"
	"tacet/sync/replica"
)

// Line is one entry of a job's history, with where it stands and what it says.
type Line struct {
	jobs.Line
	State string `json:"state"`
	Says  string `json:"says"`
}

// History lists every entry of a job in fold order, those that wait for the supervisor or were refused included.
func (h *Home) History(ctx context.Context, job string) ([]Line, error) {
	counted, err := h.Replica.Job(ctx, h.Me.Company, job)
	if err != nil {
		return nil, err
	}
	var entries []jobs.Entry
	states := map[string]replica.State{}
	err = h.Store.Read(ctx, h.Me.Company, func(tx replica.Tx) error {
		list, err := tx.Entries(job, 0)
		for _, s := range list {
			entries = append(entries, s.Entry)
			states[s.ID] = s.State
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	all := jobs.Fold(job, h.Me.Company, entries)
	lines, err := all.History()
	if err != nil {
		return nil, err
	}
	out := make([]Line, len(lines))
	for i, l := range lines {
		// what does not count is in force nowhere, and replaces nothing
		r := counted.ByID(l.ID)
		l.InForce = r != nil && counted.InForce(r)
		out[i] = Line{Line: l, State: string(states[l.ID]), Says: all.Says(all.ByID(l.ID))}
	}
	return out, nil
}
