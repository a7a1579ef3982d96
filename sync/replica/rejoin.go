package replica

import (
	"cmp"
	"context"
	"crypto/ed25519"
	"fmt"
	"slices"

	"tacet/jobs"
)

// Rejoin takes a home into another company: a home that worked alone is enrolled. Every entry is issued anew, in order,
// under the new company, the new device and the person who enrols, naming in "was" what it was; references follow. The
// old entries stay as they are, under the old company. All of it is one transaction; afterwards this replica records in
// the new company. It returns the number of jobs that came along.
//
// An entry keeps its id, so what a body says about an entry by id stays true, and its clock, so it keeps its time.
func (r *Replica) Rejoin(ctx context.Context, from string, to Me, key ed25519.PrivateKey) (n int, err error) {
	pub, ok := key.Public().(ed25519.PublicKey)
	if !ok || len(to.ServerKey) != ed25519.PublicKeySize || to.Company == from {
		return 0, fmt.Errorf("join company %q: %w", to.Company, ErrNotEnrolled)
	}
	if err := r.copyPhotos(ctx, from, to.Company); err != nil {
		return 0, err
	}
	err = r.store.Write(ctx, to.Company, func(tx Tx) error {
		to.Active, to.Cursor = true, Cursor{}
		if err := tx.PutMe(to); err != nil {
			return err
		}
		p := &pen{tx: tx, co: to.Company, key: key, me: to, ends: map[string]LaneHead{}, runs: map[string]int64{},
			dev: Device{ID: to.Device, Key: pub, Person: to.Person, NextRun: 1, Enrolled: ms(r.now())}}
		if n, err = reissue(p, from); err != nil {
			return err
		}
		return tx.PutDevice(p.dev)
	})
	if err != nil {
		return 0, err
	}
	r.mu.Lock()
	r.device, r.key, r.asked = to.Device, key, false
	clear(r.folds)
	r.mu.Unlock()
	return n, nil
}

func reissue(p *pen, from string) (jobsTaken int, err error) {
	old, err := p.tx.Of(from)
	if err != nil {
		return 0, err
	}
	list, err := ordered(old)
	if err != nil {
		return 0, err
	}
	now := map[jobs.Hash]jobs.Hash{}
	taken := map[string]bool{}
	rows := make([]Stored, 0, len(list))
	for _, s := range list {
		env := s.Envelope
		env.Was, env.By, env.Role, env.Seen = s.Hash, p.me.Person, p.me.Role, jobs.Seen{}
		if env.Job == from {
			env.Job = p.co
		} else {
			taken[env.Job] = true
		}
		env.Refs = slices.Clone(env.Refs)
		for i, ref := range env.Refs {
			if h, ok := now[ref.H]; ok {
				env.Refs[i].H = h
			}
		}
		if s.Data == nil {
			return 0, refuse(ErrBroken, "entry %s has no body here", s.ID)
		}
		e, err := p.write(env, s.Data)
		if err != nil {
			return 0, err
		}
		e.Key = s.Key
		p.dev.Clk = max(p.dev.Clk, e.Clk)
		now[s.Hash] = e.Hash
		rows = append(rows, Stored{Entry: e, State: Unsent, At: s.At})
		if err := carryPhotos(old, p.tx, s.Entry, e.Job); err != nil {
			return 0, err
		}
	}
	return len(taken), p.tx.Insert(rows)
}

// ordered lists all entries of a company so that each comes behind what it names: by arrival, job after job, and where
// one device wrote them all, in the order in which it wrote.
func ordered(tx Tx) ([]Stored, error) {
	marks, err := tx.Marks(-1)
	if err != nil {
		return nil, err
	}
	var list []Stored
	for _, m := range marks {
		part, err := tx.Entries(m.Job, 0)
		if err != nil {
			return nil, err
		}
		list = append(list, part...)
	}
	one := !slices.ContainsFunc(list, func(s Stored) bool { return s.Dev != list[0].Dev })
	if one {
		slices.SortFunc(list, func(a, b Stored) int { return cmp.Compare(a.Run, b.Run) })
	}
	return list, nil
}

func carryPhotos(from, to Tx, e jobs.Entry, job string) error {
	for _, h := range e.Blobs {
		p, err := from.Photo(e.Job, h)
		if err != nil {
			return err
		}
		p.Job, p.Sent = job, !p.Here && p.Sent // one that has not come is still to come; one that was erased is
		if err := to.PutPhoto(p); err != nil {
			return err
		}
	}
	return nil
}

// copyPhotos puts the photos of one company into another's folder, before any entry names them there.
func (r *Replica) copyPhotos(ctx context.Context, from, to string) error {
	var photos []Photo
	err := r.store.Read(ctx, from, func(tx Tx) (err error) {
		photos, err = tx.AllPhotos()
		return err
	})
	if err != nil {
		return err
	}
	for _, p := range photos {
		if !p.Here {
			continue
		}
		data, err := r.blobs.Get(ctx, from, p.H)
		if err != nil {
			return err
		}
		if _, err := r.blobs.Put(ctx, to, data); err != nil {
			return err
		}
	}
	return nil
}
