package privacy

import (
	"context"
	"encoding/json"
	"fmt"

	"tacet/jobs"
)

// Erased is what an erasure did, and could not do.
type Erased struct {
	Records int
	Account bool
	Stays   []Line // what names the person in words that are not sealed
}

// Erase erases what people said in the records that name a person, and who they were where they had an account. It is itself recorded,
// by id and without a name; each device throws the same keys away at its next contact.
func (d *Desk) Erase(ctx context.Context, co string, a jobs.Author, s Subject) (Erased, error) {
	f, err := d.Find(ctx, co, s)
	if err != nil {
		return Erased{}, err
	}
	done := Erased{Stays: f.Plain()}
	if f.Account != nil { // refused where they still work here, before anything is gone
		if err := d.Accounts.ErasePerson(ctx, co, s.Person); err != nil {
			return Erased{}, err
		}
		done.Account = true
	}
	done.Records, err = d.erase(ctx, co, a, f.Erasable(), "asked")
	return done, err
}

// erase throws the keys of lines away, job after job.
func (d *Desk) erase(ctx context.Context, co string, a jobs.Author, lines []Line, reason string) (n int, err error) {
	byJob := map[string][]string{}
	var order []string
	for _, l := range lines {
		if len(byJob[l.Job]) == 0 {
			order = append(order, l.Job)
		}
		byJob[l.Job] = append(byJob[l.Job], l.ID)
	}
	for _, job := range order {
		for ids := byJob[job]; len(ids) > 0; {
			part := ids[:min(len(ids), jobs.MaxRefs)]
			ids = ids[len(part):]
			edge, err := json.Marshal(map[string]any{"do": "erasure", "of": part, "reason": reason})
			if err != nil {
				return n, err
			}
			if _, err := d.Record.Record(ctx, co, a, job, []json.RawMessage{edge}); err != nil {
				return n, fmt.Errorf("erase in job %s: %w", job, err)
			}
			n += len(part)
		}
	}
	return n, nil
}
