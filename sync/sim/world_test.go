package sim

import (
	"context"
	"crypto/ed25519"
	"encoding/binary"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"slices"
	"sync"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

const (
	company = "01900000-0000-7000-8000-00000000c001"
)

// jobIDs are the jobs that the company has.
var jobIDs = []string{"01900000-0000-7000-8000-00000000a001", "01900000-0000-7000-8000-00000000a002"}

// house is one ceiling with three layers. Masses: common practice, no source.
const house = `{"name":"7b Lantern Row","surfaces":[{"code":"C1","kind":"ceiling","width_m":4,"height_m":2.5,
 "existing":[{"kind":"board","thickness_mm":12.5,"mass_kg_m2":10}],
 "specified":[{"kind":"cavity","depth_mm":45,"frame":{"kind":"independent","mass_kg_m2":2}},
 {"kind":"board","thickness_mm":15,"mass_kg_m2":12.8},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8}]}]}`

var ctx = context.Background()

// failure ends a schedule: something is not as it must be.
type failure string

func fail(format string, args ...any) { panic(failure(fmt.Sprintf(format, args...))) }

func must(err error, doing string) {
	if err != nil {
		fail("%s: %v", doing, err)
	}
}

// errInjected is what a store says that was told to fail.
var errInjected = fmt.Errorf("told to fail: %w", replica.ErrBusy)

// album keeps photos.
type album struct {
	data  map[jobs.Hash][]byte
	parts map[jobs.Hash][]byte
	drop  bool // planted: says that it has kept what it has not
}

func (a *album) Put(_ context.Context, _ string, data []byte) (jobs.Hash, error) {
	h := jobs.HashBlob(data)
	if !a.drop {
		a.data[h] = data
	}
	return h, nil
}

func (a *album) Get(_ context.Context, _ string, h jobs.Hash) ([]byte, error) {
	if d, ok := a.data[h]; ok {
		return d, nil
	}
	return nil, jobs.ErrNotFound
}

func (a *album) Drop(_ context.Context, _ string, h jobs.Hash) error {
	delete(a.data, h)
	return nil
}

func (a *album) Size(ctx context.Context, co string, h jobs.Hash) (int64, error) {
	d, err := a.Get(ctx, co, h)
	return int64(len(d)), err
}

// What is on its way lies beside the photos, and is lost with every disk that is put back.

func (a *album) Part(_ context.Context, _ string, h jobs.Hash) (int64, error) {
	return int64(len(a.parts[h])), nil
}

func (a *album) AddPart(_ context.Context, _ string, h jobs.Hash, at int64, piece []byte) error {
	if a.parts == nil {
		a.parts = map[jobs.Hash][]byte{}
	}
	a.parts[h] = append(slices.Clone(a.parts[h][:at]), piece...)
	return nil
}

func (a *album) JoinPart(_ context.Context, _ string, h jobs.Hash) ([]byte, error) {
	return a.parts[h], nil
}

func (a *album) DropPart(_ context.Context, _ string, h jobs.Hash) error {
	delete(a.parts, h)
	return nil
}

// world is one company with two servers on one database, and its devices.
type world struct {
	plant   string
	deep    bool // look at everything in the end, not at a part of it
	seed    uint64
	now     time.Time
	rand    *rand.ChaCha8
	key     ed25519.PrivateKey
	store   *told
	album   *album
	servers [2]*replica.Replica
	sid     string
	ids     int
	devices []*device
	backups []disk
	disks   []image             // backups of devices
	revoked map[string]bool     // device ids: the ledger
	before  map[jobs.Hash]bool  // entries of revoked devices that the server had when it revoked them
	copied  map[string]bool     // device ids under which two may write: their disk was copied, or put back
	raw     map[string]bool     // those of them whose disk was copied behind the program's back
	places  map[place]jobs.Hash // which entry a place in a lane was given to
	token   int
	said    []replica.Access // the ledger
	newer   *newer           // a device with a program of a later version
	counter int64            // planted
	met     map[string]int   // what happened how often
}

// place is one place in one lane.
type place struct {
	dev, job string
	seq      int64
}

// image is a copy of a device's disk.
type image struct {
	d     *device
	store disk
	album map[jobs.Hash][]byte
	saved map[jobs.Hash]bool
	id    string
	key   ed25519.PrivateKey
}

// newWorld gives a company in which the devices have joined, two jobs are known to everybody, and nothing has happened yet.
func newWorld(plant string, seed uint64) *world { return first().begin(plant, seed) }

// begin copies a company that has been founded, for one schedule.
func (w *world) begin(plant string, seed uint64) *world {
	w = w.copy()
	w.plant, w.seed = plant, seed
	w.rand = randomness(seed)
	w.album.drop = plant == "photo row before its file"
	w.startServers()
	for _, d := range w.devices {
		d.open()
	}
	return w
}

func randomness(seed uint64) *rand.ChaCha8 {
	var s [32]byte
	binary.LittleEndian.PutUint64(s[:], seed)
	return rand.NewChaCha8(s)
}

// first makes the company that all schedules begin with, once.
var first = sync.OnceValue(func() *world { return found(newMemory(), func() disk { return newMemory() }) })

// found makes a company whose server keeps its record on a disk, and each device on one of its own.
func found(on disk, fresh func() disk) *world {
	w := &world{now: time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC), rand: randomness(0), store: tell(on), album: &album{data: map[jobs.Hash][]byte{}},
		revoked: map[string]bool{}, before: map[jobs.Hash]bool{}, copied: map[string]bool{}, raw: map[string]bool{}, places: map[place]jobs.Hash{}, met: map[string]int{}}
	w.key = w.newKey()
	w.startServers()
	w.newer = w.joinNewer()
	for i, role := range []jobs.Role{jobs.Supervisor, jobs.Site, jobs.Site} {
		w.join(fmt.Sprintf("d%d", i), role, fresh())
	}
	edges, err := jobs.Import([]byte(house))
	must(err, "import")
	for _, job := range jobIDs {
		w.devices[0].record(job, edges...)
	}
	for _, d := range w.devices {
		must(d.sync(straight(0)), "first sync")
	}
	w.backups = append(w.backups, w.store.on.snapshot())
	return w
}

// copy is the same company again, on other disks.
func (w *world) copy() *world {
	c := *w
	c.store, c.album = w.store.copy(), &album{data: maps.Clone(w.album.data)}
	c.backups, c.devices, c.disks = slices.Clone(w.backups), nil, nil
	c.revoked, c.before, c.copied, c.raw, c.places, c.met = map[string]bool{}, map[jobs.Hash]bool{}, map[string]bool{}, map[string]bool{}, maps.Clone(w.places), map[string]int{}
	n := *w.newer
	c.newer, c.said = &n, nil
	for _, d := range w.devices {
		e := *d
		e.w, e.store, e.album, e.saved = &c, d.store.copy(), &album{data: maps.Clone(d.album.data)}, maps.Clone(d.saved)
		c.devices = append(c.devices, &e)
	}
	return &c
}

func (w *world) newKey() ed25519.PrivateKey {
	seed := make([]byte, ed25519.SeedSize)
	_, err := io.ReadFull(w.rand, seed)
	must(err, "key")
	return ed25519.NewKeyFromSeed(seed)
}

func (w *world) id(kind string) string {
	w.ids++
	return fmt.Sprintf("01900000-0000-7000-8000-0000000%s%04d", kind, w.ids)
}

func (w *world) at() time.Time {
	w.now = w.now.Add(3 * time.Millisecond)
	return w.now
}

// startServers starts both servers on the database that is there, as one server id with one lane.
func (w *world) startServers() {
	if w.sid == "" {
		w.sid = w.id("e")
	}
	if w.plant == "answered before the commit" {
		w.store.Lose = func() bool { return w.rand.Uint64()%8 == 0 }
	}
	for i := range w.servers {
		w.servers[i] = replica.New(replica.Config{Store: w.planted(w.connection(i)), Blobs: w.album, Device: w.sid, Key: w.key, Now: w.at, Rand: w.rand})
	}
}

// connection is how the i-th server reaches the database: each has its own where the database is one with connections.
func (w *world) connection(i int) replica.Store {
	many, ok := w.store.on.(interface{ another(i int) replica.Store })
	if !ok {
		return w.store
	}
	told := w.store.Failing
	return &storetest.Failing{Store: many.another(i), Lose: told.Lose, Stick: func() bool { return told.Stick != nil && told.Stick() }, Fail: func(call string, write bool) error {
		if told.Fail == nil {
			return nil
		}
		return told.Fail(call, write)
	}}
}

func pub(key ed25519.PrivateKey) ed25519.PublicKey { return key.Public().(ed25519.PublicKey) }

func (w *world) join(name string, role jobs.Role, on disk) {
	d := &device{w: w, name: name, id: w.id("d"), key: w.newKey(), person: w.id("b"), role: role, store: tell(on), album: &album{data: map[jobs.Hash][]byte{}}, saved: map[jobs.Hash]bool{}}
	me := replica.Me{Company: company, Device: d.id, Person: d.person, Role: role, ServerKey: pub(w.key), Server: "https://example.org"}
	must(replica.Settle(ctx, d.store, me), "settle")
	d.open()
	w.devices = append(w.devices, d)
	must(w.servers[0].Enlist(ctx, company, replica.Device{ID: d.id, Key: pub(d.key), Name: name, Person: d.person}), "enlist")
}

// gave notes which entries were given places in lanes. Only a disk that was copied behind the program's back gives one twice.
func (w *world) gave(es []jobs.Entry) {
	for _, e := range es {
		p := place{e.Dev, e.Job, e.Seq}
		if had, ok := w.places[p]; ok && had != e.Hash && !w.raw[e.Dev] {
			fail("%s has given place %d of its lane twice", e.Dev, e.Seq)
		}
		w.places[p] = e.Hash
	}
}

func (d *device) viewer() replica.Viewer {
	return replica.Viewer{Device: d.id, Persons: map[string]jobs.Role{d.person: d.role}}
}

func (d *device) Access(ctx context.Context) (replica.AccessAnswer, error) {
	if err := d.ask(); err != nil {
		return replica.AccessAnswer{}, err
	}
	a, err := d.server().AccessFor(ctx, company, d.viewer())
	return a, over(err)
}

func (d *device) BringAccess(ctx context.Context, said []replica.Access) error {
	if err := d.ask(); err != nil {
		return err
	}
	_, err := d.server().Heed(ctx, company, said)
	return over(err)
}

func (d *device) History(ctx context.Context, job string, after, upto int64, maxBytes int) (replica.Page, error) {
	if err := d.ask(); err != nil {
		return replica.Page{}, err
	}
	if d.w.plant == "back-fill one short of the grant" {
		upto--
	}
	p, err := d.server().HistoryFor(ctx, company, d.viewer(), job, after, upto, min(maxBytes, 4<<10))
	if d.w.plant == "back-fill one short of the grant" && !p.More {
		p.Cursor.N++
	}
	d.judgeKept(p)
	d.w.met["history fetched"]++
	return p, over(err)
}
