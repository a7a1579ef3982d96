package sim

import (
	"cmp"
	"slices"

	"tacet/jobs"
	"tacet/sync/replica"
)

func (t *memTx) PutSeals(ss []replica.Seal) error {
	for _, s := range ss {
		k := laneKey{s.Dev, s.Job, s.Seq}
		had, ok := t.st().seals[k]
		switch {
		case !ok:
			had = s
		case had.Receipt == nil:
			had.Receipt = s.Receipt
		}
		if had.Receipt != nil {
			rec := *had.Receipt
			had.Receipt = &rec
		}
		t.st().seals[k] = had
	}
	return nil
}

func (t *memTx) sealsBy(keep func(replica.Seal) bool) []replica.Seal {
	var out []replica.Seal
	for _, s := range t.st().seals {
		if keep(s) {
			if s.Receipt != nil {
				rec := *s.Receipt
				s.Receipt = &rec
			}
			out = append(out, s)
		}
	}
	slices.SortFunc(out, func(a, b replica.Seal) int {
		return cmp.Or(cmp.Compare(a.Dev, b.Dev), cmp.Compare(a.Job, b.Job), cmp.Compare(a.Seq, b.Seq))
	})
	return out
}

func (t *memTx) Seals(after, upto int64) ([]replica.Seal, error) {
	out := t.sealsBy(func(s replica.Seal) bool { return s.Receipt != nil && s.Receipt.N > after && s.Receipt.N <= upto })
	slices.SortStableFunc(out, func(a, b replica.Seal) int { return cmp.Compare(a.Receipt.N, b.Receipt.N) })
	return out, nil
}

func (t *memTx) SealsOf(job string) ([]replica.Seal, error) {
	return t.sealsBy(func(s replica.Seal) bool { return s.Job == job }), nil
}

func (t *memTx) SealAt(dev, job string, seq int64) (replica.Seal, error) {
	out := t.sealsBy(func(s replica.Seal) bool { return s.Dev == dev && s.Job == job && s.Seq == seq })
	if len(out) == 0 {
		return replica.Seal{}, jobs.ErrNotFound
	}
	return out[0], nil
}

func (t *memTx) LastSeal(dev, job string) (replica.Seal, error) {
	out := t.sealsBy(func(s replica.Seal) bool { return s.Dev == dev && s.Job == job })
	if len(out) == 0 {
		return replica.Seal{}, jobs.ErrNotFound
	}
	return out[len(out)-1], nil
}

func (t *memTx) PutAside(as []replica.Aside) error {
	s := t.st()
	for _, a := range as {
		if !slices.ContainsFunc(s.asides, func(b replica.Aside) bool { return a.Hash == b.Hash && a.Why == b.Why }) {
			if s.gone[a.Hash] {
				a.Key = nil
			}
			s.asides = append(s.asides, a)
		}
	}
	return nil
}

func (t *memTx) Asides(dev string) ([]replica.Aside, error) {
	var out []replica.Aside
	for _, a := range t.st().asides {
		if dev == "" || a.Dev == dev {
			out = append(out, a)
		}
	}
	slices.SortFunc(out, func(a, b replica.Aside) int { return cmp.Or(cmp.Compare(a.Dev, b.Dev), cmp.Compare(a.Run, b.Run)) })
	return out, nil
}

func (t *memTx) SetAside(h jobs.Hash, why replica.Why, state replica.AsideState, says string) error {
	for i, a := range t.st().asides {
		if a.Hash == h && a.Why == why {
			t.st().asides[i].State, t.st().asides[i].Says = state, says
			return nil
		}
	}
	return jobs.ErrNotFound
}

func (t *memTx) AsideBytes(dev string) (n int64, err error) {
	for _, a := range t.st().asides {
		if a.Dev == dev && a.State == replica.AsideKept {
			n += int64(len(a.Env) + len(a.Data))
		}
	}
	return n, nil
}

func (t *memTx) Leave(as []replica.Aside) error {
	if err := t.PutAside(as); err != nil {
		return err
	}
	s := t.st()
	for _, a := range as {
		e, ok := s.entries[a.Hash]
		if !ok {
			return jobs.ErrNotFound
		}
		delete(s.entries, a.Hash)
		delete(s.ids, e.ID)
		delete(s.seals, laneKey{e.Dev, e.Job, e.Seq})
		delete(s.places, laneKey{e.Dev, e.Job, e.Seq})
		delete(s.runs[e.Dev], e.Run)
	}
	return nil
}
