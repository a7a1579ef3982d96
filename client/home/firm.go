package home

import (
	"context"
	"errors"

	"tacet/jobs"
	"tacet/sync/replica"
)

// FirmWord is how a person names the firm's own job, which holds what is true for all jobs: materials, prices, targets,
// rules. Its id is the company's.
const FirmWord = "firm"

// FirmJob is the firm's own job, empty before anything is recorded in it.
func (h *Home) FirmJob(ctx context.Context) (*jobs.Job, error) {
	j, err := h.Replica.Job(ctx, h.Me.Company, h.Me.Company)
	if errors.Is(err, replica.ErrNoJob) {
		return jobs.NewJob(h.Me.Company, h.Me.Company), nil
	}
	return j, err
}

// FirmFacts is what the firm has recorded for all its jobs.
func (h *Home) FirmFacts(ctx context.Context) (jobs.Firm, error) {
	j, err := h.FirmJob(ctx)
	if err != nil {
		return jobs.Firm{}, err
	}
	return jobs.FirmOf(j), nil
}
