package replica

import (
	"context"
	"errors"
	"maps"
	"slices"

	"tacet/jobs"
)

// incoming is a batch on its way in: the jobs that it touches, held by their mutexes and with the batch folded in, and
// the reasons for what must be held.
type incoming struct {
	es      []jobs.Entry
	folds   map[string]*folded
	held    map[jobs.Hash]string
	refused map[jobs.Hash]string // of those held, what a supervisor has refused before it came back
	alone   bool                 // nobody else wrote to these jobs since they were judged
	done    bool
}

// receiving takes hold of the jobs that a batch touches. The caller must leave.
func (r *Replica) receiving(co string, es []jobs.Entry) *incoming {
	in := &incoming{es: es, folds: map[string]*folded{}, held: map[jobs.Hash]string{}, refused: map[jobs.Hash]string{}}
	for _, e := range es {
		in.folds[e.Job] = r.folded(co, e.Job)
	}
	for _, job := range slices.Sorted(maps.Keys(in.folds)) {
		in.folds[job].mu.Lock()
	}
	return in
}

// judge asks the rules about each entry that is new, before the company is locked: what is recorded meanwhile changes no
// right.
func (in *incoming) judge(ctx context.Context, s Store, co string, who *Pusher) error {
	ids := make([]string, len(in.es))
	for i, e := range in.es {
		ids[i] = e.ID
	}
	var known map[string]Known
	kept := map[jobs.Hash]bool{} // entries on jobs that their author does not see
	err := s.Read(ctx, co, func(tx Tx) (err error) {
		for job, f := range in.folds {
			if err := f.catchUp(tx, co, job); err != nil {
				return err
			}
		}
		if known, err = tx.Known(ids); err != nil || who == nil {
			return err
		}
		kept, err = in.unseen(tx, co, *who)
		return err
	})
	if err != nil {
		return err
	}
	for _, e := range in.es {
		if _, ok := known[e.ID]; ok {
			continue // judged when it came
		}
		var err error
		if who != nil { // what is offered was checked when it came first
			err = who.may(e)
			if err == nil && kept[e.Hash] {
				err = &jobs.RuleError{Says: saysNoAccess}
			}
		}
		if e.Data == nil {
			err = &jobs.RuleError{Says: saysTextLost}
		}
		j := in.folds[e.Job].own()
		if err == nil {
			err = jobs.Admit(j, e)
		}
		switch {
		case err == nil:
			j.Add(e)
		case errors.Is(err, jobs.ErrRefused):
			in.hold(j, e, err)
		default:
			return err
		}
	}
	return nil
}

// saysNoAccess is why an entry is held whose author was not given the job, or not any more.
const saysNoAccess = "its author has no access to this job, or not any more"

// unseen finds the entries on jobs that are there and that their author does not see.
func (in *incoming) unseen(tx Tx, co string, who Pusher) (map[jobs.Hash]bool, error) {
	unseen := map[jobs.Hash]bool{}
	said, err := tx.Access()
	if err != nil || len(said) == 0 {
		return unseen, err
	}
	for _, e := range in.es {
		m, err := tx.Mark(e.Job)
		if err != nil {
			return nil, err
		}
		role, here := who.Persons[e.By]
		if m.Total == 0 || !here {
			continue
		}
		yes, err := newKeeps(tx, said, Viewer{Persons: map[string]jobs.Role{e.By: role}}).sees(co, e.Job)
		if err != nil {
			return nil, err
		}
		unseen[e.Hash] = !yes
	}
	return unseen, nil
}

// hold notes why an entry is held. When a log is lost, the answer to a held entry may come back before the entry does:
// what was admitted then stands at once.
func (in *incoming) hold(j *jobs.Job, e jobs.Entry, why error) {
	switch answer, reason := j.Answered(e); answer {
	case jobs.AnswerAdmit:
		j.Add(e)
	case jobs.AnswerRefuse:
		in.refused[e.Hash] = reason
		fallthrough
	default:
		in.held[e.Hash] = why.Error()
		j.Hold(e)
	}
}

// recheck looks, under the company's lock, whether another server wrote to these jobs meanwhile.
func (in *incoming) recheck(tx Tx) error {
	in.alone = true
	for job, f := range in.folds {
		m, err := tx.Mark(job)
		if err != nil {
			return err
		}
		in.alone = in.alone && m.Total == f.total && m.Rev == f.rev
	}
	return nil
}

// saved keeps the folded jobs, which now are what is on the disk.
func (in *incoming) saved(a Answer) {
	if !in.alone {
		return
	}
	in.done = true
	for i, v := range a.Verdicts {
		if !v.Known {
			in.folds[in.es[i].Job].total++
		}
	}
}

// leave lets go of the jobs. What was folded in and not saved, or stands beside what another server wrote, is forgotten.
func (in *incoming) leave() {
	for _, f := range in.folds {
		if !in.done {
			f.forget()
		}
		f.mu.Unlock()
	}
}
