package sim

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"tacet/jobs"
	"tacet/sync/replica"
)

func (t *memTx) Seq() (replica.Seq, error) { return t.st().seq, nil }

func (t *memTx) SetSeq(s replica.Seq) error {
	t.st().seq = s
	return nil
}

func (t *memTx) PutEpoch(e replica.Epoch) error {
	t.st().epochs = append(t.st().epochs, e)
	return nil
}

func (t *memTx) Log(acts []replica.Act) error {
	s := t.st()
	for _, a := range acts {
		if next := int64(len(s.acts)) + 1; a.N != next {
			return fmt.Errorf("act %d of the log where %d follows", a.N, next)
		}
		if s.entries[a.H].Hash != a.H {
			return fmt.Errorf("act %d of an entry that is not here", a.N)
		}
		s.acts = append(s.acts, a)
	}
	return nil
}

func (t *memTx) Acts(after int64, limit, maxBytes int) ([]replica.Act, error) {
	s, size := t.st(), 0
	var out []replica.Act
	for i := after; i < int64(len(s.acts)) && len(out) < limit; i++ {
		a := s.acts[i]
		e := s.entries[a.H]
		a.Dev, a.Raw = e.Dev, replica.Raw{Env: e.Env, Body: e.Data, Key: e.Key}
		if size += len(e.Env) + len(e.Data); size > maxBytes && len(out) > 0 {
			break
		}
		out = append(out, a)
	}
	return out, nil
}

func (t *memTx) ActsSeen(after int64, hidden []string, own string, limit, maxBytes int) ([]replica.Act, error) {
	return t.only(after, limit, maxBytes, func(a replica.Act) bool { return a.Dev == own || !slices.Contains(hidden, a.Job) })
}

func (t *memTx) ActsOf(job string, after, upto int64, limit, maxBytes int) ([]replica.Act, error) {
	return t.only(after, limit, maxBytes, func(a replica.Act) bool { return a.Job == job && a.N <= upto })
}

func (t *memTx) only(after int64, limit, maxBytes int, want func(replica.Act) bool) (out []replica.Act, err error) {
	all, err := t.Acts(after, 1<<30, 1<<40)
	size := 0
	for _, a := range all {
		if !want(a) {
			continue
		}
		if size += len(a.Env) + len(a.Body); len(out) == limit || size > maxBytes && len(out) > 0 {
			break
		}
		out = append(out, a)
	}
	return out, err
}

func (t *memTx) First(job string) (replica.Stored, error) {
	all, err := t.Entries(job, 0)
	if err == nil && len(all) == 0 {
		err = jobs.ErrNotFound
	}
	if err != nil {
		return replica.Stored{}, err
	}
	return all[0], nil
}

func (t *memTx) Access() ([]replica.Access, error) { return slices.Clone(t.st().said), nil }

func (t *memTx) PutAccess(list []replica.Access) error {
	s := t.st()
	for _, a := range list {
		s.said = slices.DeleteFunc(slices.Clone(s.said), func(b replica.Access) bool { return a.What == b.What && a.ID == b.ID && a.Job == b.Job })
		s.said = append(s.said, a)
	}
	return nil
}

func (t *memTx) Parts() ([]replica.Part, error) {
	return slices.SortedFunc(maps.Values(t.st().parts), func(a, b replica.Part) int { return cmp.Compare(a.Job, b.Job) }), nil
}

func (t *memTx) PutPart(p replica.Part) error {
	t.st().parts[p.Job] = p
	return nil
}

func (t *memTx) DropPart(job string) error {
	delete(t.st().parts, job)
	return nil
}

func (t *memTx) PutArriving(job string, n int64, page []byte) error {
	s := t.st()
	if s.coming[job] == nil {
		s.coming[job] = map[int64][]byte{}
	}
	s.coming[job][n] = page
	return nil
}

func (t *memTx) Arriving(job string) (pages [][]byte, err error) {
	for _, n := range slices.Sorted(maps.Keys(t.st().coming[job])) {
		pages = append(pages, t.st().coming[job][n])
	}
	return pages, nil
}

func (t *memTx) DropArriving(job string) error {
	delete(t.st().coming, job)
	return nil
}

func (t *memTx) HeadAt(n int64) (jobs.Hash, error) {
	if s := t.st(); n > 0 && n <= int64(len(s.acts)) {
		return s.acts[n-1].Head, nil
	}
	return jobs.Hash{}, nil
}

func (t *memTx) Device(dev string) (replica.Device, error) {
	if d, ok := t.st().devices[dev]; ok {
		return d, nil
	}
	return replica.Device{}, jobs.ErrNotFound
}

func (t *memTx) Devices() ([]replica.Device, error) {
	return slices.SortedFunc(maps.Values(t.st().devices), func(a, b replica.Device) int {
		return cmp.Or(cmp.Compare(a.Enrolled, b.Enrolled), cmp.Compare(a.ID, b.ID))
	}), nil
}

func (t *memTx) PutDevice(d replica.Device) error {
	t.st().devices[d.ID] = d
	return nil
}
