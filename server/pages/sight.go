package pages

import (
	"tacet/jobs"
	"tacet/sync/replica"
)

// shown leaves out of a list the jobs that are kept from the visitor. A device has only what its people may see.
func (v *visit) shown(rows []replica.JobRow) ([]replica.JobRow, error) {
	if v.deps.Shown == nil || v.who.Guest != "" {
		return rows, nil
	}
	return v.deps.Shown(v.ctx, v.who, rows)
}

// sees makes sure that the job of the path, if it names one, is not kept from the visitor; then it is not there for them.
func (v *visit) sees() error {
	job := v.param("job")
	if job == "" {
		return nil
	}
	rows, err := v.shown([]replica.JobRow{{ID: job}})
	if err == nil && len(rows) == 0 {
		err = jobs.ErrNotFound
	}
	return err
}
