package replica

import (
	"context"
	"time"
)

// usedFresh is how long it is known how much room a company's photos take, before they are counted again: other servers
// on the same database take photos too.
const usedFresh = time.Minute

type used struct {
	bytes   int64
	counted time.Time
}

// withinQuota refuses a photo for which the company has no room left. Records pass whatever photos take.
func (r *Replica) withinQuota(ctx context.Context, co string, n int64) error {
	if r.quota <= 0 {
		return nil
	}
	have, err := r.PhotoRoom(ctx, co)
	if err != nil {
		return err
	}
	if have+n > r.quota {
		return ErrQuota
	}
	return nil
}

// PhotoRoom tells how many bytes the photos of a company take.
func (r *Replica) PhotoRoom(ctx context.Context, co string) (int64, error) {
	r.mu.Lock()
	u, known := r.used[co]
	r.mu.Unlock()
	if age := r.now().Sub(u.counted); known && age >= 0 && age < usedFresh {
		return u.bytes, nil
	}
	u = used{counted: r.now()}
	err := r.store.Read(ctx, co, func(tx Tx) (err error) {
		u.bytes, err = tx.PhotoBytes()
		return err
	})
	if err != nil {
		return 0, err
	}
	r.mu.Lock()
	r.used[co] = u
	r.mu.Unlock()
	return u.bytes, nil
}

// Quota is how many bytes the photos of each company may take; 0 is no limit.
func (r *Replica) Quota() int64 { return r.quota }

func (r *Replica) addUsed(co string, n int64) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if u, known := r.used[co]; known {
		u.bytes += n
		r.used[co] = u
	}
}

func (r *Replica) partOf(co string, have int64, whole bool) PhotoPart {
	p := PhotoPart{Have: have, Whole: whole}
	if r.quota > 0 {
		r.mu.Lock()
		p.Used, p.Quota = r.used[co].bytes, r.quota
		r.mu.Unlock()
	}
	return p
}
