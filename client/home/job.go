package home

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"tacet/jobs"
	"tacet/sync/replica"
)

// Find returns the job that a person means by its id or by a part of its name that fits no other job. A name typed in
// full always wins over names that only contain it.
func (h *Home) Find(ctx context.Context, typed string) (replica.JobRow, error) {
	rows, err := h.Replica.Jobs(ctx, h.Me.Company)
	if err != nil {
		return replica.JobRow{}, err
	}
	wanted := strings.ToLower(strings.TrimSpace(typed))
	fits := []func(replica.JobRow) bool{
		func(r replica.JobRow) bool { return r.ID == wanted },
		func(r replica.JobRow) bool { return strings.ToLower(r.Name) == wanted },
		func(r replica.JobRow) bool { return wanted != "" && strings.Contains(strings.ToLower(r.Name), wanted) },
	}
	for _, fit := range fits {
		var found []replica.JobRow
		for _, r := range rows {
			if fit(r) {
				found = append(found, r)
			}
		}
		switch len(found) {
		case 0:
			continue
		case 1:
			return found[0], nil
		}
		return replica.JobRow{}, &jobs.InputError{Field: "job", Value: strconv.Quote(typed), Hint: "that fits " + candidates(found) + "; give more of the name, or the id"}
	}
	if wanted == FirmWord || wanted == h.Me.Company {
		return replica.JobRow{ID: h.Me.Company, Name: FirmWord}, nil
	}
	hint := "no job on this device has that id or name"
	if len(rows) > 0 {
		hint += "; there is " + candidates(rows)
	}
	return replica.JobRow{}, &jobs.InputError{Field: "job", Value: strconv.Quote(typed), Hint: hint}
}

// candidates names a few jobs, and says how many there are.
func candidates(rows []replica.JobRow) string {
	const few = 5
	var names []string
	for _, r := range rows[:min(few, len(rows))] {
		names = append(names, fmt.Sprintf("%s (%s)", r.Name, r.ID))
	}
	list := strings.Join(names, ", ")
	if more := len(rows) - few; more > 0 {
		list += fmt.Sprintf(" and %d more", more)
	}
	return list
}

// Job is the job that a person means, as this device sees it.
func (h *Home) Job(ctx context.Context, typed string) (*jobs.Job, error) {
	row, err := h.Find(ctx, typed)
	if err != nil {
		return nil, err
	}
	return h.Replica.Job(ctx, h.Me.Company, row.ID)
}

// Names gives the names of the company's people by id.
func (h *Home) Names(ctx context.Context) (map[string]string, error) {
	people, err := h.Replica.People(ctx, h.Me.Company)
	if err != nil {
		return nil, err
	}
	names := make(map[string]string, len(people))
	for _, p := range people {
		names[p.ID] = p.Name
	}
	return names, nil
}
