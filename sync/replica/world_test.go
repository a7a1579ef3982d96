package replica_test

import (
	"context"
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/storetest"
)

const (
	company = "01900000-0000-7000-8000-00000000c001"
	jobID   = "01900000-0000-7000-8000-00000000a001"
)

var ctx = context.Background()

// house is one ceiling with three layers. Masses: common practice, no source.
const house = `{"name":"7b Lantern Row","surfaces":[{"code":"C1","kind":"ceiling","width_m":4,"height_m":2.5,
 "existing":[{"kind":"board","thickness_mm":12.5,"mass_kg_m2":10}],
 "specified":[{"kind":"cavity","depth_mm":45,"frame":{"kind":"independent","mass_kg_m2":2}},
 {"kind":"board","thickness_mm":15,"mass_kg_m2":12.8},{"kind":"membrane","thickness_mm":5.3,"mass_kg_m2":10},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8}]}]}`

// world is one company: a server and its devices, with one wall clock.
type world struct {
	t      testing.TB
	now    time.Time
	rand   *rand.ChaCha8
	server *replica.Replica
	store  replica.Store // of the server
	key    ed25519.PrivateKey

	tampered bool // rows were changed behind the program's back
}

type device struct {
	*world
	*replica.Replica
	id     string
	key    ed25519.PrivateKey
	me     replica.Me
	store  replica.Store
	dir    *photo.Dir
	photos string // where dir is
	net    *network
}

// at is a wall clock that moves a little with every look.
func (w *world) at() time.Time {
	w.now = w.now.Add(3 * time.Millisecond)
	return w.now
}

func newWorld(t testing.TB, s replica.Store) *world {
	t.Helper()
	w := &world{t: t, now: time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC), rand: rand.NewChaCha8([32]byte{1}), store: s}
	w.key = w.newKey()
	w.server = replica.New(replica.Config{Store: s, Blobs: photo.NewDir(t.TempDir()), Device: w.id("e", 1), Key: w.key, Now: w.at, Rand: w.rand})
	w.checkAtTheEnd(&storetest.Side{Name: "the server", Store: s})
	return w
}

// checkAtTheEnd looks at what must be true of a store at any time, whatever the test has done to it. A test that changes a store
// behind the program's back says so.
func (w *world) checkAtTheEnd(s *storetest.Side) {
	w.t.Cleanup(func() {
		if w.tampered || w.t.Failed() || w.t.Skipped() {
			return
		}
		if err := s.Check(ctx, company); err != nil {
			w.t.Errorf("when the test had ended: %v", err)
		}
	})
}

func (w *world) newKey() ed25519.PrivateKey {
	seed := make([]byte, ed25519.SeedSize)
	if _, err := io.ReadFull(w.rand, seed); err != nil {
		w.t.Fatal(err)
	}
	return ed25519.NewKeyFromSeed(seed)
}

func (w *world) id(kind string, n int) string {
	return fmt.Sprintf("01900000-0000-7000-8000-0000000%s%04d", kind, n)
}

func pub(key ed25519.PrivateKey) ed25519.PublicKey { return key.Public().(ed25519.PublicKey) }

// join makes the n-th device of the company.
func (w *world) join(n int, role jobs.Role) *device {
	w.t.Helper()
	d := w.alone(company, n, role)
	d.me.ServerKey, d.me.Server = pub(w.key), "https://example.org"
	if err := replica.Settle(ctx, d.store, d.me); err != nil {
		w.t.Fatal(err)
	}
	return d
}

// alone makes a home that knows no server.
func (w *world) alone(co string, n int, role jobs.Role) *device {
	w.t.Helper()
	d := &device{world: w, id: w.id("d", n), key: w.newKey(), store: storetest.SQLite(w.t), photos: w.t.TempDir()}
	d.dir = photo.NewDir(d.photos)
	d.me = replica.Me{Company: co, Device: d.id, Person: w.id("b", n), Role: role}
	if err := replica.Settle(ctx, d.store, d.me); err != nil {
		w.t.Fatal(err)
	}
	d.open(co)
	d.net = &network{d: d}
	w.checkAtTheEnd(&storetest.Side{Name: d.id, Store: d.store, Blobs: d.dir})
	return d
}

// open starts the device's program anew on what is on its disk.
func (d *device) open(co string) {
	d.Replica = replica.New(replica.Config{Store: d.store, Blobs: d.dir, Company: co, Device: d.id, Key: d.key, Now: d.at, Rand: d.rand})
}

func (d *device) author() jobs.Author { return jobs.Author{Person: d.me.Person, Role: d.me.Role} }

func (d *device) record(edges ...string) []jobs.Entry {
	d.t.Helper()
	es, err := d.try(edges...)
	if err != nil {
		d.t.Fatalf("%s: %v", edges, err)
	}
	return es
}

func (d *device) try(edges ...string) ([]jobs.Entry, error) {
	raw := make([]json.RawMessage, len(edges))
	for i, e := range edges {
		raw[i] = json.RawMessage(e)
	}
	return d.Record(ctx, d.me.Company, d.author(), jobID, raw)
}

func (d *device) importHouse() {
	d.t.Helper()
	edges, err := jobs.Import([]byte(house))
	if err != nil {
		d.t.Fatal(err)
	}
	if _, err := d.Record(ctx, d.me.Company, d.author(), jobID, edges); err != nil {
		d.t.Fatal(err)
	}
}

func (d *device) sync() replica.Report {
	d.t.Helper()
	rep, err := d.Sync(ctx, d.net)
	if err != nil {
		d.t.Fatalf("sync of %s: %v", d.id, err)
	}
	return rep
}

func export(t testing.TB, j *jobs.Job, err error) string {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	out, err := j.Export()
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

func (d *device) settled() string {
	d.t.Helper()
	j, err := d.Settled(ctx, d.me.Company, jobID)
	return export(d.t, j, err)
}

func (w *world) settled() string {
	w.t.Helper()
	j, err := w.server.Job(ctx, company, jobID)
	return export(w.t, j, err)
}

func note(s string) string { return fmt.Sprintf(`{"do":"note","text":%q}`, s) }

func msOf(n int) time.Duration { return time.Duration(n) * time.Millisecond }

// backUp copies a store, as a backup does.
func backUp(t testing.TB, s replica.Store) string {
	t.Helper()
	at := filepath.Join(t.TempDir(), "backup.db")
	if err := s.(*store.Store).DB().Exec("VACUUM INTO ?", at).Error; err != nil {
		t.Fatal(err)
	}
	return at
}

// restore puts a backup in the place of the server, which goes on under another id.
func (w *world) restore(backup string) {
	w.t.Helper()
	w.store = openStore(w.t, backup)
	w.server = replica.New(replica.Config{Store: w.store, Blobs: photo.NewDir(w.t.TempDir()), Device: w.id("e", 2), Key: w.key, Now: w.at, Rand: w.rand})
}
