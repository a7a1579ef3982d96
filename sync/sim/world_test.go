package sim

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"slices"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

const (
	company = "01900000-0000-7000-8000-00000000c001"
	jobID   = "01900000-0000-7000-8000-00000000a001"
)

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

// world is one company with two servers on one store, and its devices.
type world struct {
	plant   string
	now     time.Time
	rand    *rand.ChaCha8
	key     ed25519.PrivateKey
	store   *memory
	album   *album
	servers [2]*replica.Replica
	sid     string
	ids     int
	devices []*device
	backups []*memory
	disks   []disk             // backups of devices
	revoked map[string]bool    // device ids: the ledger
	before  map[jobs.Hash]bool // entries of revoked devices that the server had when it revoked them
	token   int
	met     map[string]int // what happened how often
}

type disk struct {
	d     *device
	store *memory
	album map[jobs.Hash][]byte
	saved map[jobs.Hash]bool
	id    string
	key   ed25519.PrivateKey
}

type device struct {
	w      *world
	name   string
	id     string
	key    ed25519.PrivateKey
	person string
	role   jobs.Role
	store  *memory
	album  *album
	rep    *replica.Replica
	off    time.Duration // of its clock
	saved  map[jobs.Hash]bool
	out    bool // revoked
	line   line
}

// line is what goes wrong on the wire during the next exchange: the n-th call counts down to 0.
type line struct {
	server             int
	ask, answer, twice int // -1: never
	cut                int // bytes kept of the next page; -1: all
	strange            bool
}

func straight(server int) line { return line{server: server, ask: -1, answer: -1, twice: -1, cut: -1} }

func newWorld(plant string, seed uint64) *world {
	var s [32]byte
	s[0], s[1], s[2], s[3] = byte(seed), byte(seed>>8), byte(seed>>16), byte(seed>>24)
	w := &world{plant: plant, now: time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC), rand: rand.NewChaCha8(s), store: newMemory(), album: &album{data: map[jobs.Hash][]byte{}},
		revoked: map[string]bool{}, before: map[jobs.Hash]bool{}, met: map[string]int{}}
	w.album.drop = plant == "photo row before its file"
	w.key = w.newKey()
	w.startServers()
	for i, role := range []jobs.Role{jobs.Supervisor, jobs.Site, jobs.Site} {
		w.join(fmt.Sprintf("d%d", i), role)
	}
	edges, err := jobs.Import([]byte(house))
	must(err, "import")
	w.devices[0].record(edges...)
	for _, d := range w.devices {
		must(d.sync(straight(0)), "first sync")
	}
	w.backups = append(w.backups, w.store.snapshot())
	return w
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

// startServers starts both servers on the store that is there, as one server id with one lane.
func (w *world) startServers() {
	if w.sid == "" {
		w.sid = w.id("e")
	}
	if w.plant == "answered before the commit" {
		w.store.ack = func() bool { return w.rand.Uint64()%8 != 0 }
	}
	for i := range w.servers {
		w.servers[i] = replica.New(replica.Config{Store: w.planted(w.store), Blobs: w.album, Device: w.sid, Key: w.key, Now: w.at, Rand: w.rand})
	}
}

func pub(key ed25519.PrivateKey) ed25519.PublicKey { return key.Public().(ed25519.PublicKey) }

func (w *world) join(name string, role jobs.Role) *device {
	d := &device{w: w, name: name, id: w.id("d"), key: w.newKey(), person: w.id("b"), role: role, store: newMemory(), album: &album{data: map[jobs.Hash][]byte{}}, saved: map[jobs.Hash]bool{}}
	me := replica.Me{Company: company, Device: d.id, Person: d.person, Role: role, ServerKey: pub(w.key), Server: "https://example.org"}
	must(replica.Settle(ctx, d.store, me), "settle")
	d.open()
	w.devices = append(w.devices, d)
	must(w.servers[0].Enlist(ctx, company, replica.Device{ID: d.id, Key: pub(d.key), Name: name, Person: d.person}), "enlist")
	return d
}

// open starts the device's program on what is on its disk.
func (d *device) open() {
	now := func() time.Time { return d.w.at().Add(d.off) }
	d.rep = replica.New(replica.Config{Store: d.store, Blobs: d.album, Company: company, Device: d.id, Key: d.key, Now: now, Rand: d.w.rand})
}

func (d *device) author() jobs.Author { return jobs.Author{Person: d.person, Role: d.role} }

// record saves; what the desk refuses is refused, and nothing else may go wrong.
func (d *device) record(edges ...json.RawMessage) {
	es, err := d.rep.Record(ctx, company, d.author(), jobID, edges)
	var in *jobs.InputError
	if errors.As(err, &in) || errors.Is(err, jobs.ErrRefused) {
		d.w.met["refused at the desk"]++
		return
	}
	if errors.Is(err, errInjected) {
		d.w.met["a save failed"]++
		return
	}
	must(err, "record on "+d.name)
	for _, e := range es {
		d.saved[e.Hash] = true
	}
}

// sync exchanges once over a line. Only what a line, a full store or a supervisor can be blamed for may go wrong.
func (d *device) sync(l line) error {
	d.line = l
	_, err := d.rep.Sync(ctx, d)
	switch {
	case err == nil, errors.Is(err, replica.ErrUnreachable), errors.Is(err, replica.ErrBusy):
		return err
	case errors.Is(err, replica.ErrRevoked):
		if !d.w.revoked[d.id] {
			fail("%s was told that it is revoked", d.name)
		}
		d.out = true
		_, err := d.rep.SendAside(ctx, d)
		if err != nil && !errors.Is(err, replica.ErrUnreachable) && !errors.Is(err, replica.ErrBusy) {
			fail("%s leaves its work: %v", d.name, err)
		}
		d.w.met["left aside"]++
		return err
	case errors.Is(err, replica.ErrLaneForked), errors.Is(err, replica.ErrRunForked), errors.Is(err, replica.ErrEntryDiffers), errors.Is(err, replica.ErrChain):
		d.w.met["found to be a copy"]++
		d.succeed()
		return err
	}
	fail("exchange of %s: %v", d.name, err)
	return err
}

// succeed goes on as another device, which the server learns of.
func (d *device) succeed() {
	old := d.id
	id, key := d.w.id("d"), d.w.newKey()
	if _, err := d.rep.Succeed(ctx, id, key); err != nil {
		if errors.Is(err, errInjected) {
			return // tried again at the next exchange
		}
		fail("%s goes on: %v", d.name, err)
	}
	d.id, d.key = id, key
	enlist := func() error {
		return d.w.store.Write(ctx, company, func(tx replica.Tx) error {
			return tx.PutDevice(replica.Device{ID: id, Key: pub(key), Person: d.person, NextRun: 1, Was: old})
		})
	}
	err := enlist()
	if errors.Is(err, errInjected) {
		err = enlist() // a store that was told to fail does so once
	}
	must(err, "enlist the successor")
	for h := range d.saved {
		delete(d.saved, h) // those issued again have other hashes now
	}
	for h, e := range d.store.cos[company].entries {
		if e.Dev == d.id {
			d.saved[h] = true
		}
	}
}

// lost counts a fault down; true: now.
func lost(n *int) bool {
	if *n < 0 {
		return false
	}
	*n--
	return *n == -1
}

func unreachable() error { return fmt.Errorf("cut: %w", replica.ErrUnreachable) }

// over is how a refusal looks on the other side.
func over(err error) error {
	if err == nil {
		return nil
	}
	if p, known := wire.ProblemOf(err); known {
		return p.Err()
	}
	return err
}

func (d *device) server() *replica.Replica { return d.w.servers[d.line.server] }

func (d *device) Lanes(ctx context.Context) (replica.Lanes, error) {
	if lost(&d.line.ask) {
		return replica.Lanes{}, unreachable()
	}
	l, err := d.server().LanesOf(ctx, company, d.id)
	return l, over(err)
}

func carried(b replica.Batch) (replica.Batch, error) {
	var ask bytes.Buffer
	if err := wire.WriteBatch(&ask, b); err != nil {
		return b, err
	}
	return wire.ReadBatch(&ask)
}

// give carries a batch there and the answer back.
func (d *device) give(b replica.Batch, take func(replica.Batch) (replica.Answer, error)) (replica.Answer, error) {
	if lost(&d.line.ask) {
		return replica.Answer{}, unreachable()
	}
	got, err := carried(b)
	must(err, "carry a batch")
	a, err := take(got)
	if lost(&d.line.twice) {
		d.w.met["doubled"]++
		a, err = take(got)
	}
	if lost(&d.line.answer) {
		d.w.met["answer lost"]++
		return replica.Answer{}, unreachable()
	}
	return a, over(err)
}

func (d *device) Push(ctx context.Context, b replica.Batch) (replica.Answer, error) {
	return d.give(b, func(b replica.Batch) (replica.Answer, error) {
		who := replica.Pusher{Device: d.id, Key: pub(d.key), Persons: map[string]jobs.Role{d.person: d.role}, Person: d.person, Role: d.role}
		if d.line.strange {
			who.Persons = map[string]jobs.Role{}
		}
		return d.server().Receive(ctx, company, who, b)
	})
}

func (d *device) Offer(ctx context.Context, b replica.Batch) (replica.Answer, error) {
	if d.w.plant == "nothing is offered" {
		return replica.Answer{}, nil
	}
	d.w.met["offered"]++
	return d.give(b, func(b replica.Batch) (replica.Answer, error) { return d.server().TakeOffer(ctx, company, d.id, b) })
}

func (d *device) Aside(ctx context.Context, b replica.Batch) (int, error) {
	a, err := d.give(b, func(b replica.Batch) (replica.Answer, error) { return d.server().FileAside(ctx, b) })
	return len(a.Verdicts), err
}

func (d *device) Pull(ctx context.Context, c replica.Cursor, maxBytes int) (replica.Page, error) {
	if lost(&d.line.ask) {
		return replica.Page{}, unreachable()
	}
	p, err := d.server().PullFrom(ctx, company, d.id, d.w.plantCursor(c), min(maxBytes, 4<<10))
	if lost(&d.line.answer) {
		return replica.Page{}, unreachable()
	}
	if err != nil {
		return replica.Page{}, over(err)
	}
	d.w.plantPage(&p)
	var back bytes.Buffer
	must(wire.WritePage(&back, p), "write a page")
	answer := back.Bytes()
	if d.line.cut >= 0 && d.line.cut < len(answer) {
		answer, d.line.cut = answer[:d.line.cut], -1
		d.w.met["cut"]++
	}
	p, err = wire.ReadPage(bytes.NewReader(answer))
	if err != nil {
		return p, errors.Join(replica.ErrUnreachable, err)
	}
	return p, nil
}

func (d *device) People(context.Context) ([]replica.Person, error) {
	if lost(&d.line.ask) {
		return nil, unreachable()
	}
	return []replica.Person{{ID: d.person, Name: "Sam Example", Role: d.role}}, nil
}

func (d *device) SendPhoto(ctx context.Context, job string, h jobs.Hash, at, size int64, piece []byte) (replica.PhotoPart, error) {
	if lost(&d.line.ask) {
		return replica.PhotoPart{}, unreachable()
	}
	p, err := d.server().TakePiece(ctx, company, job, h, at, size, piece, nil)
	return p, over(err)
}

func (d *device) FetchPhoto(ctx context.Context, job string, h jobs.Hash, at int64, n int) ([]byte, int64, error) {
	if lost(&d.line.ask) {
		return nil, 0, unreachable()
	}
	piece, size, err := d.server().PhotoPiece(ctx, company, job, h, at, n)
	return piece, size, over(err)
}

// copyDisk is what is on the device's disk now.
func (d *device) copyDisk() disk {
	return disk{d: d, store: d.store.snapshot(), album: maps.Clone(d.album.data), saved: maps.Clone(d.saved), id: d.id, key: d.key}
}

// alive lists the devices that are in use.
func (w *world) alive() []*device {
	return slices.DeleteFunc(slices.Clone(w.devices), func(d *device) bool { return d.out || w.revoked[d.id] })
}
