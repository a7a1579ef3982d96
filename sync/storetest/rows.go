package storetest

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"tacet/jobs"
	"tacet/sync/replica"
)

// Rows is what a store holds of one company, read in one snapshot.
type Rows struct {
	Co      string
	Me      *replica.Me // nil at a server
	Seq     replica.Seq
	Acts    []replica.Act
	Entries map[jobs.Hash]replica.Stored
	Devices map[string]replica.Device
	Marks   map[string]replica.Mark
	Seals   []replica.Seal
	Photos  []replica.Photo
	Asides  []replica.Aside
}

// ReadRows reads what a store holds of a company.
func ReadRows(ctx context.Context, s replica.Store, co string) (Rows, error) {
	r := Rows{Co: co, Entries: map[jobs.Hash]replica.Stored{}, Devices: map[string]replica.Device{}, Marks: map[string]replica.Mark{}}
	err := s.Read(ctx, co, r.read)
	return r, err
}

func (r *Rows) read(tx replica.Tx) error {
	me, err := tx.Me()
	switch {
	case err == nil:
		r.Me = &me
	case !errors.Is(err, replica.ErrNoHome):
		return err
	}
	if r.Seq, err = tx.Seq(); err != nil {
		return err
	}
	for int64(len(r.Acts)) < r.Seq.N {
		part, err := tx.Acts(int64(len(r.Acts)), replica.MaxActs, replica.MaxPage)
		if err != nil {
			return err
		}
		if len(part) == 0 {
			break
		}
		r.Acts = append(r.Acts, part...)
	}
	devices, err := tx.Devices()
	if err != nil {
		return err
	}
	for _, d := range devices {
		r.Devices[d.ID] = d
	}
	marks, err := tx.Marks(-1)
	if err != nil {
		return err
	}
	for _, m := range marks {
		r.Marks[m.Job] = m
		if err := r.readJob(tx, m.Job); err != nil {
			return err
		}
	}
	if r.Photos, err = tx.AllPhotos(); err != nil {
		return err
	}
	r.Asides, err = tx.Asides("")
	return err
}

func (r *Rows) readJob(tx replica.Tx, job string) error {
	list, err := tx.Entries(job, 0)
	if err != nil {
		return err
	}
	for _, e := range list {
		r.Entries[e.Hash] = e
	}
	seals, err := tx.SealsOf(job)
	r.Seals = append(r.Seals, seals...)
	return err
}

// Standing is what counts at the server.
func (r Rows) Standing() map[jobs.Hash]bool {
	set := map[jobs.Hash]bool{}
	for h, e := range r.Entries {
		if e.State == replica.Standing {
			set[h] = true
		}
	}
	return set
}

// job lists a job's entries in the order in which they came.
func (r Rows) job(job string) []replica.Stored {
	var list []replica.Stored
	for _, e := range r.Entries {
		if e.Job == job {
			list = append(list, e)
		}
	}
	slices.SortFunc(list, func(a, b replica.Stored) int { return cmp.Compare(a.Pos, b.Pos) })
	return list
}
