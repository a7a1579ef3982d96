package replica

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"tacet/jobs"
)

// Record is the door for what a person does here: each edge is one JSON object as the command line and the forms give
// it. The whole batch is taken or nothing is, and what is taken is on the disk when Record returns. The first entry of a
// job is its description ("do":"job"); the caller chooses the job's id, a UUIDv7.
func (r *Replica) Record(ctx context.Context, co string, a jobs.Author, job string, edges []json.RawMessage) (es []jobs.Entry, err error) {
	if len(edges) == 0 {
		return nil, &jobs.InputError{Field: "record", Value: "empty", Hint: "give at least one object"}
	}
	f := r.folded(co, job)
	f.mu.Lock()
	defer f.mu.Unlock()
	saved := false
	defer func() {
		if !saved {
			f.forget() // what was folded in is not on the disk, or nobody knows
		}
	}()
	err = r.store.Write(ctx, co, func(tx Tx) error {
		if err := f.catchUp(tx, co, job); err != nil {
			return err
		}
		// The company's own job needs no description: it is there as soon as something is true for all jobs.
		if f.total == 0 && job != co && !describesJob(edges[0]) {
			return ErrNoJob
		}
		es, err = r.compose(ctx, tx, f.own(), co, a, job, edges)
		return err
	})
	if err != nil {
		return nil, err
	}
	saved = true
	f.total += int64(len(es))
	return es, r.afterErasing(ctx, co)
}

func describesJob(edge []byte) bool {
	var head struct {
		Do string `json:"do"`
	}
	return json.Unmarshal(edge, &head) == nil && head.Do == "job"
}

// compose checks, chains, folds and saves, in the transaction.
func (r *Replica) compose(ctx context.Context, tx Tx, j *jobs.Job, co string, a jobs.Author, job string, edges []json.RawMessage) ([]jobs.Entry, error) {
	p, err := r.pen(tx, co)
	if err != nil {
		return nil, err
	}
	es := make([]jobs.Entry, 0, len(edges))
	rows := make([]Stored, 0, len(edges))
	for i, edge := range edges {
		d, err := jobs.Compose(j, a, edge)
		if err != nil {
			return nil, inBatch(err, i, len(edges))
		}
		if err := r.namePhotos(ctx, tx, co, job, d.Blobs); err != nil {
			return nil, inBatch(err, i, len(edges))
		}
		now := r.now()
		if err := jobs.NotAhead(edge, now); err != nil {
			return nil, inBatch(err, i, len(edges))
		}
		id, err := r.NewID()
		if err != nil {
			return nil, err
		}
		e, err := p.write(jobs.Envelope{ID: id, Job: job, Clk: p.tick(now), Seen: p.seen, By: a.Person, Role: a.Role,
			Kind: d.Kind, KV: d.KV, On: d.On, Refs: d.Refs, Blobs: d.Blobs}, d.Body)
		if err != nil {
			return nil, inBatch(err, i, len(edges))
		}
		e.Key = d.Key
		j.Add(e)
		es = append(es, e)
		rows = append(rows, Stored{Entry: e, State: Unsent, At: ms(now)})
	}
	if r.authority {
		s, err := p.seal(job)
		if err != nil {
			return nil, err
		}
		if _, err := r.position(tx, co, rows, nil, nil, []Seal{s}); err != nil {
			return nil, err
		}
	} else if err := tx.Insert(rows); err != nil {
		return nil, err
	} else if err := r.forgetWords(tx, co, es); err != nil {
		return nil, err
	}
	return es, tx.PutDevice(p.dev)
}

// inBatch says which of several objects is the bad one.
func inBatch(err error, i, n int) error {
	if n == 1 {
		return err
	}
	var in *jobs.InputError
	if errors.As(err, &in) {
		return in.At(fmt.Sprintf("[%d]", i))
	}
	return fmt.Errorf("[%d]: %w", i, err)
}
