package replica

import (
	"context"
	"encoding/binary"
	"math/bits"
	"sync"

	"tacet/jobs"
)

type foldKey struct{ co, job string }

// maxFolds bounds the jobs kept folded in memory.
const maxFolds = 256

// folded is a job in memory. As long as nobody was given it, entries are added to it as they come; once callers hold it
// it is never changed again, and the next entry goes into a copy. The mutex is taken before any transaction and held
// over it, so the order is the same everywhere: the jobs by id, then the company.
type folded struct {
	mu         sync.Mutex
	total, rev int64 // the mark that job is at
	job        *jobs.Job
	given      bool
}

func (r *Replica) folded(co, job string) *folded {
	r.mu.Lock()
	defer r.mu.Unlock()
	k := foldKey{co, job}
	f, ok := r.folds[k]
	if !ok {
		if len(r.folds) >= maxFolds {
			for old := range r.folds {
				delete(r.folds, old)
				break
			}
		}
		f = &folded{}
		r.folds[k] = f
	}
	return f
}

// inMemory tells whether a job is kept folded.
func (r *Replica) inMemory(co, job string) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	_, ok := r.folds[foldKey{co, job}]
	return ok
}

// letGo keeps a job folded no longer. Whoever has it in hand goes on with it.
func (r *Replica) letGo(co, job string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	delete(r.folds, foldKey{co, job})
}

// visible tells whether an entry in this state counts here. A held one does not: a rule says that it must not.
func visible(s State) bool {
	return s == Unsent || s == Sent || s == Standing || s == ToConfirm
}

// catchUp brings the job to what the transaction sees. Entries only ever come, so what is missing is added; when one
// changed its state so that it counts or no longer counts, the revision differs and all is folded anew.
func (f *folded) catchUp(tx Tx, co, job string) error {
	m, err := tx.Mark(job)
	if err != nil {
		return err
	}
	if f.job != nil && f.total >= m.Total && f.rev >= m.Rev {
		return nil
	}
	if f.job == nil || f.rev != m.Rev {
		f.forget()
	}
	list, err := tx.Entries(job, f.total)
	if err != nil {
		f.forget()
		return err
	}
	if f.job == nil {
		f.job = jobs.Fold(job, co, counting(list))
	} else {
		own := f.own()
		for _, e := range counting(list) {
			own.Add(e)
		}
	}
	for _, s := range list {
		if s.State == Held {
			f.job.Hold(s.Entry)
		}
	}
	f.total, f.rev = m.Total, m.Rev
	return nil
}

func (f *folded) forget() { f.job, f.given, f.total, f.rev = nil, false, 0, 0 }

// own gives the job to be added to.
func (f *folded) own() *jobs.Job {
	if f.given {
		f.job, f.given = f.job.Clone(), false
	}
	return f.job
}

// give gives the job to callers, who only read it.
func (f *folded) give() *jobs.Job {
	f.given = true
	return f.job
}

func counting(list []Stored) []jobs.Entry {
	es := make([]jobs.Entry, 0, len(list))
	for _, s := range list {
		if visible(s.State) {
			es = append(es, s.Entry)
		}
	}
	return es
}

// Job is the job as this replica sees it: what stands, and what was recorded here and is still on its way. The value is
// shared: callers only read it.
func (r *Replica) Job(ctx context.Context, co, job string) (*jobs.Job, error) {
	j, _, _, err := r.jobAt(ctx, co, job)
	return j, err
}

func (r *Replica) jobAt(ctx context.Context, co, job string) (j *jobs.Job, total, rev int64, err error) {
	f := r.folded(co, job)
	f.mu.Lock()
	defer f.mu.Unlock()
	if err := r.store.Read(ctx, co, func(tx Tx) error { return f.catchUp(tx, co, job) }); err != nil {
		return nil, 0, 0, err
	}
	if f.total == 0 {
		return nil, 0, 0, ErrNoJob
	}
	return f.give(), f.total, f.rev, nil
}

// Settled is what stands at the position that was pulled: the same bytes on every replica at that position. A home that
// is not enrolled has nobody to settle anything with, there it is all that was recorded.
func (r *Replica) Settled(ctx context.Context, co, job string) (*jobs.Job, error) {
	if r.authority {
		return r.Job(ctx, co, job)
	}
	var es []jobs.Entry
	alone := false
	err := r.store.Read(ctx, co, func(tx Tx) error {
		if me, err := tx.Me(); err != nil || len(me.ServerKey) == 0 {
			alone = err == nil
			return err
		}
		list, err := tx.Entries(job, 0)
		if err == nil && len(list) == 0 {
			return ErrNoJob
		}
		for _, s := range list {
			if s.State == Standing {
				es = append(es, s.Entry)
			}
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	if alone {
		return r.Job(ctx, co, job)
	}
	return jobs.Fold(job, co, es), nil
}

// States tells for each entry of a job, by id, where it stands.
func (r *Replica) States(ctx context.Context, co, job string) (map[string]State, error) {
	states := map[string]State{}
	err := r.store.Read(ctx, co, func(tx Tx) error {
		list, err := tx.Entries(job, 0)
		for _, s := range list {
			states[s.ID] = s.State
		}
		return err
	})
	return states, err
}

// plus is the sum modulo 2^256 of two hashes read as numbers. Other than with XOR, equal hashes do not cancel.
func plus(a, b jobs.Hash) (sum jobs.Hash) {
	var carry uint64
	for i := 24; i >= 0; i -= 8 {
		var w uint64
		w, carry = bits.Add64(binary.BigEndian.Uint64(a[i:]), binary.BigEndian.Uint64(b[i:]), carry)
		binary.BigEndian.PutUint64(sum[i:], w)
	}
	return sum
}

// minus takes a hash out of a sum.
func minus(a, b jobs.Hash) (diff jobs.Hash) {
	var borrow uint64
	for i := 24; i >= 0; i -= 8 {
		var w uint64
		w, borrow = bits.Sub64(binary.BigEndian.Uint64(a[i:]), binary.BigEndian.Uint64(b[i:]), borrow)
		binary.BigEndian.PutUint64(diff[i:], w)
	}
	return diff
}
