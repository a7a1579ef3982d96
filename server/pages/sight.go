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

// seesAll tells whether no job is kept from the visitor.
func (v *visit) seesAll() (bool, error) {
	if v.deps.SeesAll == nil {
		return true, nil
	}
	return v.deps.SeesAll(v.ctx, v.who)
}

// seesFirm makes sure that a page about all jobs is shown only to those from whom none is kept.
func (v *visit) seesFirm() error {
	if !v.page.Firm {
		return nil
	}
	all, err := v.seesAll()
	if err == nil && !all {
		err = errNotAll
	}
	return err
}

// seesJob makes sure that a job is not kept from the visitor; else it is not there for them.
func (v *visit) seesJob(job string) error {
	rows, err := v.shown([]replica.JobRow{{ID: job}})
	if err == nil && len(rows) == 0 {
		err = jobs.ErrNotFound
	}
	return err
}

// sees makes sure that the job of the path, if it names one, is not kept from the visitor; then it is not there for them.
func (v *visit) sees() error {
	job := v.param("job")
	if job == "" {
		return nil
	}
	return v.seesJob(job)
}
