package replica

import (
	"context"
	"encoding/json"
	"errors"
	"slices"

	"tacet/jobs"
)

// Viewer is who asks for a company's log: a device, and the people who use it. It sees the union of their jobs.
type Viewer struct {
	Device  string
	Persons map[string]jobs.Role // nil: of whom nothing is known sees everything
}

// Sight is what a viewer sees of a company's jobs.
type Sight struct {
	All  bool     `json:"all"` // nothing is kept from it
	Jobs []Digest `json:"jobs"`
}

// AccessAnswer is what a server tells a device about access.
type AccessAnswer struct {
	Access []Access `json:"access"`
	Sight  Sight    `json:"sight"`
	Sum    string   `json:"sum"`
	N      int64    `json:"n"` // where the log ended when this was said
}

// keeps tells what is kept from a viewer: nothing, or all jobs of which no word gives access. Office and owner give the access,
// so nothing is kept from them. A job stays its author's, whatever else is said of new ones.
type keeps struct {
	all     bool
	persons map[string]bool            // whether each of them sees what nothing is said of
	jobs    map[string]map[string]bool // by person and job
	tx      Tx
	author  map[string]string // of the first entry of jobs looked at
}

func newKeeps(tx Tx, said []Access, v Viewer) *keeps {
	k := &keeps{tx: tx, all: v.Persons == nil, persons: map[string]bool{}, jobs: map[string]map[string]bool{}, author: map[string]string{}}
	for p, role := range v.Persons {
		k.persons[p] = true
		k.all = k.all || role == jobs.Office || role == jobs.Owner
	}
	narrow := false
	for _, a := range said {
		if _, here := k.persons[a.ID]; !here {
			continue
		}
		switch a.What {
		case AccessJobs:
			k.persons[a.ID] = a.May
			narrow = narrow || !a.May
		case AccessJob:
			if k.jobs[a.ID] == nil {
				k.jobs[a.ID] = map[string]bool{}
			}
			k.jobs[a.ID][a.Job] = a.May
			narrow = narrow || !a.May
		}
	}
	k.all = k.all || !narrow
	return k
}

// sees tells whether a job is shown. What is true for the whole company everybody sees.
func (k *keeps) sees(co, job string) (bool, error) {
	if k.all || job == co {
		return true, nil
	}
	for p, rest := range k.persons {
		if may, said := k.jobs[p][job]; said && may || !said && rest {
			return true, nil
		}
	}
	by, known := k.author[job]
	if !known {
		first, err := k.tx.First(job)
		if err != nil && !errors.Is(err, jobs.ErrNotFound) {
			return false, err
		}
		by = first.By
		k.author[job] = by
	}
	_, ours := k.persons[by]
	_, said := k.jobs[by][job]
	return ours && !said, nil
}

// hidden lists the jobs that are kept from a viewer.
func (k *keeps) hidden(co string) (list []string, err error) {
	if k.all {
		return nil, nil
	}
	marks, err := k.tx.Marks(-1)
	if err != nil {
		return nil, err
	}
	for _, m := range marks {
		if yes, err := k.sees(co, m.Job); err != nil {
			return nil, err
		} else if !yes {
			list = append(list, m.Job)
		}
	}
	return list, nil
}

// sight lists the jobs that are shown, each with what stands of it.
func (k *keeps) sight(co string) (Sight, error) {
	s := Sight{All: k.all, Jobs: []Digest{}}
	marks, err := k.tx.Marks(-1)
	if err != nil {
		return s, err
	}
	for _, m := range marks {
		if yes, err := k.sees(co, m.Job); err != nil {
			return s, err
		} else if yes {
			s.Jobs = append(s.Jobs, Digest{Job: m.Job, Count: m.Count, Sum: m.Sum, N: m.N})
		}
	}
	return s, nil
}

// AccessFor tells a device what was said about access, and what it sees.
func (r *Replica) AccessFor(ctx context.Context, co string, v Viewer) (a AccessAnswer, err error) {
	err = r.store.Read(ctx, co, func(tx Tx) error {
		if err := active(tx, v.Device); err != nil {
			return err
		}
		if a.Access, err = tx.Access(); err != nil {
			return err
		}
		if a.Sight, err = newKeeps(tx, a.Access, v).sight(co); err != nil {
			return err
		}
		seq, err := tx.Seq()
		a.N = seq.N
		return err
	})
	if a.Access == nil {
		a.Access = []Access{}
	}
	a.Sum = accessSum(slices.Clone(a.Access), a.Sight)
	return a, err
}

// active refuses a device that was revoked.
func active(tx Tx, dev string) error {
	d, err := tx.Device(dev)
	if err == nil && d.Revoked != 0 {
		return ErrRevoked
	}
	if !errors.Is(err, jobs.ErrNotFound) {
		return err
	}
	// A record that went back in time may not know the device, and yet know that it was shut out.
	said, err := tx.Access()
	if slices.ContainsFunc(said, func(a Access) bool { return a.What == AccessDevice && a.ID == dev && !a.May }) {
		return ErrRevoked
	}
	return err
}

// MaySee tells whether a viewer sees a job; what it does not see is not there for it.
func (r *Replica) MaySee(ctx context.Context, co string, v Viewer, job string) error {
	return r.store.Read(ctx, co, func(tx Tx) error {
		if err := active(tx, v.Device); err != nil {
			return err
		}
		if m, err := tx.Mark(job); err != nil {
			return err
		} else if m.Total == 0 {
			return jobs.ErrNotFound
		}
		said, err := tx.Access()
		if err != nil {
			return err
		}
		if yes, err := newKeeps(tx, said, v).sees(co, job); err != nil || yes {
			return err
		}
		return jobs.ErrNotFound
	})
}

// MayBring tells whether a viewer may bring a photo: of a job that it sees, and of one that was taken away where an entry of its own names the
// photo, which then waits with that entry or stands with it. Else the job is not there for it, nor what it has.
func (r *Replica) MayBring(ctx context.Context, co string, v Viewer, job string, h jobs.Hash) error {
	err := r.MaySee(ctx, co, v, job)
	if !errors.Is(err, jobs.ErrNotFound) {
		return err
	}
	return r.store.Read(ctx, co, func(tx Tx) error {
		if _, err := tx.Photo(job, h); err != nil {
			return err
		}
		list, err := tx.Entries(job, 0)
		if err != nil {
			return err
		}
		for _, e := range list {
			_, ours := v.Persons[e.By]
			if (ours || e.Dev == v.Device) && slices.Contains(e.Blobs, h) {
				return nil
			}
		}
		return jobs.ErrNotFound
	})
}

// SeesAll tells whether nothing is kept from a viewer, and nothing will be unless something is said.
func (r *Replica) SeesAll(ctx context.Context, co string, v Viewer) (all bool, err error) {
	err = r.store.Read(ctx, co, func(tx Tx) error {
		said, err := tx.Access()
		all = err == nil && newKeeps(tx, said, v).all
		return err
	})
	return all, err
}

// Shown leaves out of a list the jobs that a viewer does not see.
func (r *Replica) Shown(ctx context.Context, co string, v Viewer, rows []JobRow) (shown []JobRow, err error) {
	err = r.store.Read(ctx, co, func(tx Tx) error {
		said, err := tx.Access()
		if err != nil {
			return err
		}
		k := newKeeps(tx, said, v)
		shown = make([]JobRow, 0, len(rows))
		for _, row := range rows {
			if yes, err := k.sees(co, row.ID); err != nil {
				return err
			} else if yes {
				shown = append(shown, row)
			}
		}
		return nil
	})
	return shown, err
}

// HistoryFor reads what stands in the log about one job, behind one position and up to another, as much as fits in maxBytes.
// The log's chain does not lead through it: what proves it are the chains of its lanes, their seals and receipts, and the digest.
func (r *Replica) HistoryFor(ctx context.Context, co string, v Viewer, job string, after, upto int64, maxBytes int) (Page, error) {
	if err := r.MaySee(ctx, co, v, job); err != nil {
		return Page{}, err
	}
	var p Page
	_, key := r.identity()
	err := r.store.Read(ctx, co, func(tx Tx) (err error) {
		if p.Acts, err = tx.ActsOf(job, after, upto, MaxActs, min(max(maxBytes, MinPage), MaxPage)); err != nil {
			return err
		}
		end := upto
		if len(p.Acts) > 0 {
			last := p.Acts[len(p.Acts)-1].N
			if rest, err := tx.ActsOf(job, last, upto, 1, 1); err != nil {
				return err
			} else if len(rest) > 0 {
				p.More, end = true, last
			}
		}
		hideBodies(p.Acts, v.Device)
		p.Cursor.N = end
		seals, keys, err := r.sealsFor(tx, after, end)
		if err != nil {
			return err
		}
		p.Seals = slices.DeleteFunc(seals, func(s Seal) bool { return s.Job != job })
		p.Devices = slices.DeleteFunc(keys, func(k DeviceKey) bool {
			return !slices.ContainsFunc(p.Seals, func(s Seal) bool { return s.Dev == k.Dev })
		})
		if m, err := tx.Mark(job); err != nil {
			return err
		} else if !p.More && m.N <= upto {
			p.Digests = []Digest{{Job: job, Count: m.Count, Sum: m.Sum}}
		}
		return nil
	})
	if err != nil {
		return Page{}, err
	}
	for i := range p.Seals {
		if err := p.Seals[i].Receipt.Sign(key); err != nil {
			return Page{}, err
		}
	}
	p.Time = ms(r.now())
	return p, nil
}

// Part is a job of which this device does not have everything.
type Part struct {
	Job   string
	State string // PartEnded or PartArriving
	Upto  int64  // up to this position all of it is here
	Goal  int64  // of one that is arriving: up to here it comes
	Have  int64  // records that have come
	Of    int64  // of so many
}

// The states of a part.
const (
	PartEnded    = "ended"    // no longer updated: access was removed
	PartArriving = "arriving" // on its way; nothing that is not here counts
)

// Parts lists the jobs of which this device does not have everything.
func (r *Replica) Parts(ctx context.Context, co string) (list []Part, err error) {
	err = r.store.Read(ctx, co, func(tx Tx) error {
		list, err = tx.Parts()
		return err
	})
	return list, err
}

// packPage and unpackPage keep a page on the disk until its job is whole.
func packPage(p Page) ([]byte, error) { return json.Marshal(p) }

func unpackPage(b []byte) (p Page, err error) {
	err = json.Unmarshal(b, &p)
	return p, err
}
