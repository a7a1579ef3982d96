package replica_test

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/json"
	"errors"
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
	"tacet/sync/wire"
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

// network carries what is said as the bytes that go over the wire, and loses it when told to.
type network struct {
	d           *device
	persons     map[string]jobs.Role // enrolled on the device; itself alone if nil
	loseAsk     int                  // the next n requests do not arrive
	loseAnswer  int                  // the next n answers do not come back
	loseOffers  bool                 // the server takes none of what is offered
	cut         func(answer []byte) []byte
	pushes      int
	sent        int                      // entries in all pushes
	loseHistory int                      // each n-th page of history does not come
	histories   int                      // pages of history asked for
	historyActs int                      // and the acts in them
	acts        int                      // in all pages of the log
	photoBytes  int                      // of all pieces, both ways
	beforePiece func(piece []byte) error // of a photo that is sent
	afterPiece  func(piece []byte) error
}

var _ replica.Transport = (*network)(nil)

func (n *network) lost(count *int) error {
	if *count > 0 {
		*count--
		return fmt.Errorf("cut: %w", replica.ErrUnreachable)
	}
	return nil
}

func (n *network) pusher() replica.Pusher {
	persons := n.persons
	if persons == nil {
		persons = map[string]jobs.Role{n.d.me.Person: n.d.me.Role}
	}
	return replica.Pusher{Device: n.d.id, Key: pub(n.d.key), Persons: persons, Person: n.d.me.Person, Role: n.d.me.Role}
}

// over is how a refusal looks on the other side.
func over(err error) error {
	if err == nil {
		return nil
	}
	p, known := wire.ProblemOf(err)
	if !known {
		return err
	}
	return p.Err()
}

func (n *network) Lanes(ctx context.Context) (replica.Lanes, error) {
	if err := n.lost(&n.loseAsk); err != nil {
		return replica.Lanes{}, err
	}
	l, err := n.d.server.LanesOf(ctx, n.d.me.Company, n.d.id)
	if err != nil {
		return l, over(err)
	}
	var back replica.Lanes
	return back, again(l, &back)
}

func again(in, out any) error {
	b, err := json.Marshal(in)
	if err != nil {
		return err
	}
	return json.Unmarshal(b, out)
}

func (n *network) Push(ctx context.Context, b replica.Batch) (replica.Answer, error) {
	n.pushes++
	n.sent += len(b.Entries)
	if err := n.lost(&n.loseAsk); err != nil {
		return replica.Answer{}, err
	}
	var ask, back bytes.Buffer
	if err := wire.WriteBatch(&ask, b); err != nil {
		return replica.Answer{}, err
	}
	got, err := wire.ReadBatch(&ask)
	if err != nil {
		return replica.Answer{}, over(err)
	}
	a, err := n.d.server.Receive(ctx, n.d.me.Company, n.pusher(), got)
	if lost := n.lost(&n.loseAnswer); lost != nil {
		return replica.Answer{}, lost
	}
	if err != nil {
		return replica.Answer{}, over(err)
	}
	if err := wire.WriteAnswer(&back, a); err != nil {
		return replica.Answer{}, err
	}
	return wire.ReadAnswer(&back)
}

func (n *network) Offer(ctx context.Context, b replica.Batch) (replica.Answer, error) {
	if err := n.lost(&n.loseAsk); err != nil {
		return replica.Answer{}, err
	}
	got, err := carried(b)
	if err != nil {
		return replica.Answer{}, err
	}
	if n.loseOffers {
		return replica.Answer{}, nil
	}
	a, err := n.d.server.TakeOffer(ctx, n.d.me.Company, n.d.id, got)
	return a, over(err)
}

func (n *network) Aside(ctx context.Context, b replica.Batch) (int, error) {
	got, err := carried(b)
	if err != nil {
		return 0, err
	}
	a, err := n.d.server.FileAside(ctx, got)
	return len(a.Verdicts), over(err)
}

// carried is a batch as it arrives.
func carried(b replica.Batch) (replica.Batch, error) {
	var ask bytes.Buffer
	if err := wire.WriteBatch(&ask, b); err != nil {
		return b, err
	}
	return wire.ReadBatch(&ask)
}

func (n *network) Pull(ctx context.Context, c replica.Cursor, maxBytes int) (replica.Page, error) {
	if err := n.lost(&n.loseAsk); err != nil {
		return replica.Page{}, err
	}
	c, err := wire.ParseCursor(wire.FormatCursor(c))
	if err != nil {
		return replica.Page{}, err
	}
	p, err := n.d.server.PullFor(ctx, n.d.me.Company, n.viewer(), c, maxBytes)
	if lost := n.lost(&n.loseAnswer); lost != nil {
		return replica.Page{}, lost
	}
	if err != nil {
		return replica.Page{}, over(err)
	}
	var back bytes.Buffer
	if err := wire.WritePage(&back, p); err != nil {
		return replica.Page{}, err
	}
	answer := back.Bytes()
	if n.cut != nil {
		answer = n.cut(answer)
	}
	p, err = wire.ReadPage(bytes.NewReader(answer))
	if err != nil {
		return p, errors.Join(replica.ErrUnreachable, err)
	}
	n.acts += len(p.Acts)
	return p, nil
}

func (n *network) People(context.Context) ([]replica.Person, error) {
	return []replica.Person{{ID: n.d.me.Person, Name: "Sam Example", Role: n.d.me.Role}}, n.lost(&n.loseAsk)
}

func (n *network) viewer() replica.Viewer {
	return replica.Viewer{Device: n.d.id, Persons: n.pusher().Persons}
}

func (n *network) Access(ctx context.Context) (replica.AccessAnswer, error) {
	if err := n.lost(&n.loseAsk); err != nil {
		return replica.AccessAnswer{}, err
	}
	a, err := n.d.server.AccessFor(ctx, n.d.me.Company, n.viewer())
	if err != nil {
		return a, over(err)
	}
	var back replica.AccessAnswer
	return back, again(a, &back)
}

func (n *network) BringAccess(ctx context.Context, said []replica.Access) error {
	if err := n.lost(&n.loseAsk); err != nil {
		return err
	}
	_, err := n.d.server.Heed(ctx, n.d.me.Company, said)
	return over(err)
}

func (n *network) History(ctx context.Context, job string, after, upto int64, maxBytes int) (replica.Page, error) {
	if err := n.lost(&n.loseAsk); err != nil {
		return replica.Page{}, err
	}
	n.histories++
	p, err := n.d.server.HistoryFor(ctx, n.d.me.Company, n.viewer(), job, after, upto, maxBytes)
	if err != nil {
		return p, over(err)
	}
	n.historyActs += len(p.Acts)
	if n.loseHistory > 0 && n.histories%n.loseHistory == 0 {
		return replica.Page{}, fmt.Errorf("cut: %w", replica.ErrUnreachable)
	}
	if lost := n.lost(&n.loseAnswer); lost != nil {
		return replica.Page{}, lost
	}
	var back bytes.Buffer
	if err := wire.WritePage(&back, p); err != nil {
		return p, err
	}
	return wire.ReadPage(&back)
}

func (n *network) SendPhoto(ctx context.Context, job string, h jobs.Hash, at, size int64, piece []byte) (replica.PhotoPart, error) {
	if err := n.lost(&n.loseAsk); err != nil {
		return replica.PhotoPart{}, err
	}
	if n.beforePiece != nil {
		if err := n.beforePiece(piece); err != nil {
			return replica.PhotoPart{}, err
		}
	}
	n.photoBytes += len(piece)
	p, err := n.d.server.TakePiece(ctx, n.d.me.Company, job, h, at, size, piece, nil)
	if n.afterPiece != nil {
		if err := n.afterPiece(piece); err != nil {
			return replica.PhotoPart{}, err
		}
	}
	return p, over(err)
}

func (n *network) FetchPhoto(ctx context.Context, job string, h jobs.Hash, at int64, length int) ([]byte, int64, error) {
	if err := n.lost(&n.loseAsk); err != nil {
		return nil, 0, err
	}
	piece, size, err := n.d.server.PhotoPiece(ctx, n.d.me.Company, job, h, at, length)
	n.photoBytes += len(piece)
	if n.afterPiece != nil {
		if err := n.afterPiece(piece); err != nil {
			return nil, 0, err
		}
	}
	return piece, size, over(err)
}

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
