package sim

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"sync"

	"tacet/jobs"
	"tacet/sync/replica"
)

// memory is a store in memory. A commit replaces the state as a whole, so a snapshot costs nothing and a crash leaves what
// was committed. It keeps to the same contract as the databases, and the same suite holds it to that.
type memory struct {
	mu     *sync.Mutex
	cos    map[string]*state
	active string
}

type laneKey struct {
	dev, job string
	seq      int64
}

type photoKey struct {
	job string
	h   jobs.Hash
}

// state is what one company's rows hold.
type state struct {
	seq     replica.Seq
	epochs  []replica.Epoch
	acts    []replica.Act
	devices map[string]replica.Device
	entries map[jobs.Hash]replica.Stored
	ids     map[string]jobs.Hash
	places  map[laneKey]jobs.Hash
	runs    map[string]map[int64]jobs.Hash
	marks   map[string]replica.Mark
	seals   map[laneKey]replica.Seal
	photos  map[photoKey]replica.Photo
	asides  []replica.Aside
	me      *replica.Me
	people  []replica.Person
	views   map[string]replica.View
	gone    map[jobs.Hash]bool // keys that were thrown away
	said    []replica.Access
	parts   map[string]replica.Part
	coming  map[string]map[int64][]byte
}

func newMemory() *memory { return &memory{mu: &sync.Mutex{}, cos: map[string]*state{}} }

func newState() *state {
	return &state{devices: map[string]replica.Device{}, entries: map[jobs.Hash]replica.Stored{}, ids: map[string]jobs.Hash{}, places: map[laneKey]jobs.Hash{},
		runs: map[string]map[int64]jobs.Hash{}, marks: map[string]replica.Mark{}, seals: map[laneKey]replica.Seal{}, photos: map[photoKey]replica.Photo{}, views: map[string]replica.View{}, gone: map[jobs.Hash]bool{},
		parts: map[string]replica.Part{}, coming: map[string]map[int64][]byte{}}
}

func (s *state) clone() *state {
	c := *s
	c.epochs, c.acts, c.asides, c.people = slices.Clip(s.epochs), slices.Clip(s.acts), slices.Clone(s.asides), slices.Clone(s.people)
	c.devices, c.entries, c.ids, c.places = maps.Clone(s.devices), maps.Clone(s.entries), maps.Clone(s.ids), maps.Clone(s.places)
	c.marks, c.seals, c.photos, c.views = maps.Clone(s.marks), maps.Clone(s.seals), maps.Clone(s.photos), maps.Clone(s.views)
	c.gone, c.said, c.parts = maps.Clone(s.gone), slices.Clone(s.said), maps.Clone(s.parts)
	c.coming = make(map[string]map[int64][]byte, len(s.coming))
	for job, pages := range s.coming {
		c.coming[job] = maps.Clone(pages)
	}
	c.runs = make(map[string]map[int64]jobs.Hash, len(s.runs))
	for dev, m := range s.runs {
		c.runs[dev] = maps.Clone(m)
	}
	if s.me != nil {
		me := *s.me
		c.me = &me
	}
	return &c
}

// snapshot is the store as it is now, on another disk.
func (m *memory) snapshot() disk {
	m.mu.Lock()
	defer m.mu.Unlock()
	return &memory{mu: &sync.Mutex{}, cos: maps.Clone(m.cos), active: m.active} // committed states are never changed
}

type memTx struct {
	m      *memory
	co     string
	all    map[string]*state // of this transaction
	active *string
	write  bool
}

func (t *memTx) st() *state {
	s := t.all[t.co]
	if s == nil {
		s = newState()
		t.all[t.co] = s
	}
	return s
}

func (m *memory) Read(_ context.Context, co string, f func(replica.Tx) error) error {
	if co == "" {
		return errors.New("no company")
	}
	m.mu.Lock()
	all, active := maps.Clone(m.cos), m.active
	m.mu.Unlock()
	return f(&memTx{m: m, co: co, all: all, active: &active})
}

func (m *memory) Write(_ context.Context, co string, f func(replica.Tx) error) error {
	if co == "" {
		return errors.New("no company")
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	all, active := maps.Clone(m.cos), m.active
	if s := all[co]; s != nil {
		all[co] = s.clone()
	}
	tx := &memTx{m: m, co: co, all: all, active: &active, write: true}
	if err := f(tx); err != nil {
		return err
	}
	m.cos, m.active = all, active
	return nil
}

func (m *memory) Companies(context.Context) ([]string, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return slices.Sorted(maps.Keys(m.cos)), nil
}

func (m *memory) Active(context.Context) (replica.Me, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if s := m.cos[m.active]; s != nil && s.me != nil {
		return *s.me, nil
	}
	return replica.Me{}, replica.ErrNoHome
}

func (t *memTx) Of(co string) (replica.Tx, error) {
	if co == "" {
		return nil, errors.New("no company")
	}
	if s := t.all[co]; s != nil && t.write {
		t.all[co] = s.clone()
	}
	return &memTx{m: t.m, co: co, all: t.all, active: t.active, write: t.write}, nil
}

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

func (t *memTx) Outbox(limit int) ([]replica.Stored, error) {
	out := t.list(func(e replica.Stored) bool { return e.State == replica.Unsent }, func(a, b replica.Stored) int { return cmp.Compare(a.Run, b.Run) })
	return out[:min(limit, len(out))], nil
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
