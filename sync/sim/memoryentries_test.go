package sim

import (
	"bytes"
	"cmp"
	"maps"
	"slices"

	"tacet/jobs"
	"tacet/sync/replica"
)

func (t *memTx) Insert(es []replica.Stored) error {
	s := t.st()
	for i := range es {
		e := &es[i]
		if e.Co != t.co {
			return jobs.ErrNotFound
		}
		place := laneKey{e.Dev, e.Job, e.Seq}
		if s.runs[e.Dev] == nil {
			s.runs[e.Dev] = map[int64]jobs.Hash{}
		}
		_, id := s.ids[e.ID]
		_, at := s.places[place]
		_, run := s.runs[e.Dev][e.Run]
		if id || at || run {
			return replica.ErrLaneForked
		}
		m := s.marks[e.Job]
		m.Job = e.Job
		m.Total++
		e.Pos = m.Total
		s.marks[e.Job] = m
		kept := *e
		kept.Env, kept.Data = bytes.Clone(e.Env), bytes.Clone(e.Data)
		if s.gone[e.Hash] {
			kept.Key = nil
		}
		s.entries[e.Hash], s.ids[e.ID], s.places[place], s.runs[e.Dev][e.Run] = kept, e.Hash, e.Hash, e.Hash
	}
	return nil
}

func known(e replica.Stored) replica.Known {
	return replica.Known{H: e.Hash, State: e.State, N: e.N, Seq: e.Seq, Run: e.Run}
}

func (t *memTx) Known(ids []string) (map[string]replica.Known, error) {
	found := map[string]replica.Known{}
	for _, id := range ids {
		if h, ok := t.st().ids[id]; ok {
			found[id] = known(t.st().entries[h])
		}
	}
	return found, nil
}

func (t *memTx) list(keep func(replica.Stored) bool, order func(a, b replica.Stored) int) []replica.Stored {
	var out []replica.Stored
	for _, e := range t.st().entries {
		if keep(e) {
			out = append(out, e)
		}
	}
	slices.SortFunc(out, order)
	return out
}

func byRun(a, b replica.Stored) int {
	return cmp.Or(cmp.Compare(a.Dev, b.Dev), cmp.Compare(a.Run, b.Run))
}

func byPos(a, b replica.Stored) int { return cmp.Compare(a.Pos, b.Pos) }

func (t *memTx) LanesOf(dev string) ([]replica.LaneHead, error) {
	ends := map[string]replica.LaneHead{}
	for _, e := range t.st().entries {
		if e.Dev == dev && e.Seq > ends[e.Job].Seq {
			ends[e.Job] = replica.LaneHead{Job: e.Job, Seq: e.Seq, H: e.Hash}
		}
	}
	return slices.SortedFunc(maps.Values(ends), func(a, b replica.LaneHead) int { return cmp.Compare(a.Job, b.Job) }), nil
}

func (t *memTx) Lane(dev, job string) (replica.LaneHead, error) {
	ls, _ := t.LanesOf(dev)
	for _, l := range ls {
		if l.Job == job {
			return l, nil
		}
	}
	return replica.LaneHead{Job: job}, nil
}

func (t *memTx) At(dev, job string, seq int64) (replica.Known, error) {
	if h, ok := t.st().places[laneKey{dev, job, seq}]; ok {
		return known(t.st().entries[h]), nil
	}
	return replica.Known{}, jobs.ErrNotFound
}

func (t *memTx) Entries(job string, after int64) ([]replica.Stored, error) {
	return t.list(func(e replica.Stored) bool { return e.Job == job && e.Pos > after }, byPos), nil
}

func (t *memTx) Outbox(limit, maxBytes int) ([]replica.Stored, error) {
	out := t.list(func(e replica.Stored) bool { return e.State == replica.Unsent }, func(a, b replica.Stored) int { return cmp.Compare(a.Run, b.Run) })
	size := 0
	for i, e := range out {
		if size += len(e.Env) + len(e.Data); i+1 == limit || size > maxBytes {
			return out[:i+1], nil
		}
	}
	return out, nil
}

func (t *memTx) Entry(h jobs.Hash) (replica.Stored, error) {
	if e, ok := t.st().entries[h]; ok {
		return e, nil
	}
	return replica.Stored{}, jobs.ErrNotFound
}

func (t *memTx) InState(s replica.State, notDev string, limit int) ([]replica.Stored, error) {
	out := t.list(func(e replica.Stored) bool { return e.State == s && e.Dev != notDev }, byRun)
	return out[:min(limit, len(out))], nil
}

func (t *memTx) SetState(h jobs.Hash, s replica.State, n int64, says string) error {
	e, ok := t.st().entries[h]
	if !ok {
		return jobs.ErrNotFound
	}
	e.State, e.N, e.Says = s, n, says
	t.st().entries[h] = e
	return nil
}

func (t *memTx) SetBody(h jobs.Hash, body, key []byte) error {
	e, ok := t.st().entries[h]
	if !ok || e.Data != nil {
		return jobs.ErrNotFound
	}
	e.Data = bytes.Clone(body)
	if !t.st().gone[h] {
		e.Key = bytes.Clone(key)
	}
	t.st().entries[h] = e
	return nil
}

func (t *memTx) DropKey(h jobs.Hash) error {
	s := t.st()
	s.gone[h] = true
	if e, ok := s.entries[h]; ok {
		e.Key = nil
		s.entries[h] = e
	}
	for i := range s.asides {
		if s.asides[i].Hash == h {
			s.asides[i].Key = nil
		}
	}
	return nil
}

func (t *memTx) From(dev string, run int64) ([]replica.Stored, error) {
	return t.list(func(e replica.Stored) bool { return e.Dev == dev && e.Run >= run }, byRun), nil
}

func (t *memTx) ToConfirm(after int64) error {
	s := t.st()
	for job, m := range s.marks {
		m.Count, m.Sum, m.N = 0, jobs.Hash{}, 0
		s.marks[job] = m
	}
	for h, e := range s.entries {
		if e.N > 0 && e.N <= after {
			m := s.marks[e.Job]
			m.N = max(m.N, e.N)
			if e.State == replica.Standing {
				m.Stands(h)
			}
			s.marks[e.Job] = m
			continue
		}
		if e.State == replica.Sent || e.State == replica.Standing {
			e.State = replica.ToConfirm
		}
		e.N = 0
		s.entries[h] = e
	}
	return nil
}

func (t *memTx) MarkSent(dev, job string, upto int64) (int, error) {
	n := 0
	for h, e := range t.st().entries {
		if e.Dev == dev && e.Job == job && e.Seq <= upto && e.State == replica.Unsent {
			e.State = replica.Sent
			t.st().entries[h] = e
			n++
		}
	}
	return n, nil
}

func (t *memTx) Count(s replica.State, dev string) (n int, oldest int64, err error) {
	for _, e := range t.st().entries {
		if e.State == s && e.Dev == dev {
			if n++; oldest == 0 || e.At < oldest {
				oldest = e.At
			}
		}
	}
	return n, oldest, nil
}

func (t *memTx) Mark(job string) (replica.Mark, error) {
	m := t.st().marks[job]
	m.Job = job
	return m, nil
}

func (t *memTx) SetMark(m replica.Mark) error {
	had, ok := t.st().marks[m.Job]
	if !ok {
		return jobs.ErrNotFound
	}
	m.Total = had.Total
	t.st().marks[m.Job] = m
	return nil
}

func (t *memTx) Marks(after int64) ([]replica.Mark, error) {
	var out []replica.Mark
	for _, m := range t.st().marks {
		if m.N > after {
			out = append(out, m)
		}
	}
	slices.SortFunc(out, func(a, b replica.Mark) int { return cmp.Compare(a.Job, b.Job) })
	return out, nil
}
