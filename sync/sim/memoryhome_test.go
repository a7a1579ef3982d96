package sim

import (
	"bytes"
	"cmp"
	"maps"
	"slices"

	"tacet/jobs"
	"tacet/sync/replica"
)

func (t *memTx) Photo(job string, h jobs.Hash) (replica.Photo, error) {
	if p, ok := t.st().photos[photoKey{job, h}]; ok {
		return p, nil
	}
	return replica.Photo{}, jobs.ErrNotFound
}

func (t *memTx) PutPhoto(p replica.Photo) error {
	t.st().photos[photoKey{p.Job, p.H}] = p
	return nil
}

func (t *memTx) Photos(here, sent bool, limit int) ([]replica.Photo, error) {
	all, err := t.AllPhotos()
	all = slices.DeleteFunc(all, func(p replica.Photo) bool { return p.Here != here || p.Sent != sent })
	return all[:min(limit, len(all))], err
}

func (t *memTx) CountPhotos(here, sent bool) (int, error) {
	all, err := t.Photos(here, sent, 1<<30)
	return len(all), err
}

func (t *memTx) AllPhotos() ([]replica.Photo, error) {
	return slices.SortedFunc(maps.Values(t.st().photos), func(a, b replica.Photo) int {
		return cmp.Or(cmp.Compare(a.Job, b.Job), bytes.Compare(a.H[:], b.H[:]))
	}), nil
}

func (t *memTx) PhotoBytes() (n int64, err error) {
	all, err := t.AllPhotos()
	for _, p := range all {
		if p.Here {
			n += p.Size
		}
	}
	return n, err
}

func (t *memTx) Me() (replica.Me, error) {
	if t.st().me == nil {
		return replica.Me{}, replica.ErrNoHome
	}
	return *t.st().me, nil
}

func (t *memTx) PutMe(m replica.Me) error {
	m.Company = t.co
	if m.Active {
		if had := t.all[*t.active]; had != nil && had.me != nil && *t.active != t.co {
			put := had.clone()
			put.me.Active = false
			t.all[*t.active] = put
		}
		*t.active = t.co
	}
	t.st().me = &m
	return nil
}

func (t *memTx) People() ([]replica.Person, error) { return t.st().people, nil }

func (t *memTx) PutPeople(ps []replica.Person) error {
	t.st().people = slices.SortedFunc(slices.Values(ps), func(a, b replica.Person) int { return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID)) })
	return nil
}

func (t *memTx) JobRows() ([]replica.JobRow, error) {
	rows := map[string]*replica.JobRow{}
	for _, e := range t.st().entries {
		if e.Job == t.co {
			continue
		}
		r := rows[e.Job]
		if r == nil {
			v := t.st().views[e.Job]
			m := t.st().marks[e.Job]
			r = &replica.JobRow{ID: e.Job, Total: m.Total, Rev: m.Rev, Name: v.Name, Site: v.Site}
			rows[e.Job] = r
		}
		r.Entries++
		r.Last = max(r.Last, e.Clk)
		switch e.State {
		case replica.Unsent:
			r.Unsent++
		case replica.Held:
			r.Held++
		}
	}
	var out []replica.JobRow
	for _, r := range rows {
		out = append(out, *r)
	}
	slices.SortFunc(out, func(a, b replica.JobRow) int { return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID)) })
	return out, nil
}

func (t *memTx) Stale() ([]replica.Mark, error) {
	var out []replica.Mark
	for job, m := range t.st().marks {
		v, ok := t.st().views[job]
		if job != t.co && (!ok || v.Total != m.Total || v.Rev != m.Rev) {
			out = append(out, m)
		}
	}
	slices.SortFunc(out, func(a, b replica.Mark) int { return cmp.Compare(a.Job, b.Job) })
	return out, nil
}

func (t *memTx) PutView(v replica.View) error { t.st().views[v.Job] = v; return nil }

func (t *memTx) Views() ([]replica.View, error) {
	return slices.SortedFunc(maps.Values(t.st().views), func(a, b replica.View) int { return cmp.Compare(a.Job, b.Job) }), nil
}

func (t *memTx) DropViews() error { t.st().views = map[string]replica.View{}; return nil }

func (t *memTx) Sheet(code string) (job, surface string, err error) {
	for _, v := range t.st().views {
		if s, ok := v.Sheets[code]; ok {
			return v.Job, s, nil
		}
	}
	return "", "", jobs.ErrNotFound
}
