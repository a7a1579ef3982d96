package sim

import (
	"context"
	"errors"
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
