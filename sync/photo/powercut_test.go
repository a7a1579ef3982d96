package photo

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	mrand "math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/storetest"
)

const (
	co      = "01900000-0000-7000-8000-00000000c001"
	jobID   = "01900000-0000-7000-8000-00000000a001"
	devID   = "01900000-0000-7000-8000-0000000d0001"
	desk    = "01900000-0000-7000-8000-0000000e0001"
	person  = "01900000-0000-7000-8000-0000000b0001"
	surface = `{"name":"7b Lantern Row","surfaces":[{"code":"C1","kind":"ceiling","width_m":4,"height_m":2.5,
 "existing":[{"kind":"board","thickness_mm":12.5,"mass_kg_m2":10}],"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8}]}]}`
)

var ctx = context.Background()

// side is a home or a server that keeps photos, and the tape of what it did: the database at the beginning, its log, the steps on the
// folder, and how long the log was when each entry was said to be saved.
type side struct {
	t       *testing.T
	path    string
	root    string
	company string // "" for a server
	key     ed25519.PrivateKey
	store   *store.Store
	rec     *recorder
	photos  *Dir
	*replica.Replica

	db, wal []byte
	saved   map[jobs.Hash]int64
}

func newSide(t *testing.T, company string, key ed25519.PrivateKey, serverKey ed25519.PublicKey, skips ...string) *side {
	t.Helper()
	dir := t.TempDir()
	s := &side{t: t, path: filepath.Join(dir, "tacet.db"), root: filepath.Join(dir, "photos"), company: company, key: key, saved: map[jobs.Hash]int64{}}
	s.rec = &recorder{log: s.logSize, skips: map[string]bool{}}
	for _, do := range skips {
		s.rec.skips[do] = true
	}
	s.must(func() (err error) { s.store, err = store.Open(ctx, s.path); return err }())
	t.Cleanup(func() {
		if err := s.store.Close(); err != nil {
			t.Error(err)
		}
	})
	if company != "" {
		s.must(replica.Settle(ctx, s.store, replica.Me{Company: co, Device: devID, Person: person, Role: jobs.Supervisor, ServerKey: serverKey, Server: "https://example.org"}))
	}
	s.restart()
	return s
}

func (s *side) must(err error) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
}

func (s *side) logSize() int64 {
	info, err := os.Stat(s.path + "-wal")
	if err != nil {
		return 0
	}
	return info.Size()
}

// restart starts the program anew on what it has on the disk.
func (s *side) restart() {
	s.photos = NewDir(s.root)
	s.photos.on, s.rec.stop = s.rec, 0
	dev := devID
	if s.company == "" {
		dev = desk
	}
	s.Replica = replica.New(replica.Config{Store: s.store, Blobs: s.photos, Company: s.company, Device: dev, Key: s.key, Now: time.Now, Rand: rand.Reader})
}

// begin is where the tape begins: with an empty log.
func (s *side) begin() {
	s.t.Helper()
	s.must(s.store.DB().Exec("PRAGMA wal_checkpoint(TRUNCATE)").Error)
	s.db = s.read(s.path)
}

func (s *side) end() {
	s.t.Helper()
	s.wal = s.read(s.path + "-wal")
	if string(s.read(s.path)) != string(s.db) {
		s.t.Fatal("the database was written to: the tape is no longer one of the log alone")
	}
}

func (s *side) read(path string) []byte {
	s.t.Helper()
	data, err := os.ReadFile(path)
	s.must(err)
	return data
}

func (s *side) record(edges ...json.RawMessage) error {
	es, err := s.Record(ctx, co, jobs.Author{Person: person, Role: jobs.Supervisor}, jobID, edges)
	for _, e := range es {
		s.saved[e.Hash] = s.logSize()
	}
	return err
}

func (s *side) house() {
	s.t.Helper()
	edges, err := jobs.Import([]byte(surface))
	s.must(err)
	s.must(s.record(edges...))
}

// take keeps a photo and records it.
func (s *side) take(data []byte) error {
	h, err := s.photos.Put(ctx, co, data)
	if err != nil {
		return err
	}
	return s.record(json.RawMessage(fmt.Sprintf(`{"do":"photo","surface":"C1","file":%q}`, h)))
}

func picture(draw *mrand.Rand) []byte {
	data := make([]byte, 200+draw.IntN(3000))
	for i := range data {
		data[i] = byte(draw.Uint32())
	}
	return data
}

// recordHome runs a home that keeps photos: new ones, some twice, and some on which the program is ended at each step in turn, is
// started again, and is asked once more.
func recordHome(t *testing.T, photos int, skips ...string) *side {
	t.Helper()
	key := ed25519.NewKeyFromSeed(make([]byte, ed25519.SeedSize))
	s := newSide(t, co, key, key.Public().(ed25519.PublicKey), skips...)
	s.house()
	s.begin()
	draw := mrand.New(mrand.NewPCG(7, 7))
	for i := range photos {
		data := picture(draw)
		if i%2 == 1 {
			s.rec.stop = len(s.rec.ops) + 1 + i/2%8
			if err := s.take(data); err != nil && !errors.Is(err, errEnded) {
				t.Fatal(err)
			}
			s.restart()
		}
		s.must(s.take(data))
		if i%5 == 4 {
			s.must(s.take(data))
		}
	}
	s.end()
	return s
}

// direct carries a home's entries to a server in the same program.
type direct struct {
	replica.Transport
	from, to *side
}

func (n direct) Lanes(ctx context.Context) (replica.Lanes, error) {
	return n.to.LanesOf(ctx, co, devID)
}

func (n direct) Push(ctx context.Context, b replica.Batch) (replica.Answer, error) {
	who := replica.Pusher{Device: devID, Key: n.from.key.Public().(ed25519.PublicKey), Persons: map[string]jobs.Role{person: jobs.Supervisor}, Person: person, Role: jobs.Supervisor}
	return n.to.Receive(ctx, co, who, b)
}

// recordServer runs a server to which photos come in pieces, and which is ended on some at each step in turn.
func recordServer(t *testing.T, photos int, skips ...string) *side {
	t.Helper()
	key := ed25519.NewKeyFromSeed(make([]byte, ed25519.SeedSize))
	server := newSide(t, "", key, nil, skips...)
	home := newSide(t, co, key, key.Public().(ed25519.PublicKey))
	s := server
	s.must(s.Enlist(ctx, co, replica.Device{ID: devID, Key: key.Public().(ed25519.PublicKey), Person: person}))
	home.house()
	draw := mrand.New(mrand.NewPCG(8, 8))
	var list [][]byte
	for range photos {
		data := picture(draw)
		list = append(list, data)
		home.must(home.take(data))
	}
	if _, err := home.Push(ctx, direct{from: home, to: server}); err != nil {
		t.Fatal(err)
	}
	s.begin()
	for i, data := range list {
		if i%2 == 1 {
			s.rec.stop = len(s.rec.ops) + 1 + i/2%14
			if err := s.arrives(data); err != nil && !errors.Is(err, errEnded) {
				t.Fatal(err)
			}
			s.restart()
		}
		s.must(s.arrives(data))
	}
	s.end()
	return s
}

// arrives brings a photo in pieces, as much of it as is not there: the first, empty one asks.
func (s *side) arrives(data []byte) error {
	size := int64(len(data))
	for at, piece := int64(0), []byte(nil); ; {
		part, err := s.TakePiece(ctx, co, jobID, jobs.HashBlob(data), at, size, piece, nil)
		if err != nil || part.Whole {
			return err
		}
		at = part.Have
		piece = data[at:min(size, at+700)]
	}
}

// cut draws a moment between two steps on the folder, and what a power cut in it leaves of the folder, and of the database's log, which
// may be in the middle of a commit. Then it looks: the home, or server, opens, no row names a photo that is not there and whole, nothing
// that was said to be saved is gone, and a file with the name of a photo is that photo.
func (s *side) cut(dir string, draw *mrand.Rand) (err error) {
	if err := errors.Join(os.RemoveAll(dir), os.MkdirAll(dir, 0o700)); err != nil {
		return err
	}
	n := 1 + draw.IntN(len(s.rec.ops)-1)
	from := s.rec.ops[n-1].log
	log := from + draw.Int64N(s.rec.ops[n].log-from+1)
	path, root := filepath.Join(dir, "tacet.db"), filepath.Join(dir, "photos")
	if err := errors.Join(os.WriteFile(path, s.db, 0o600), os.WriteFile(path+"-wal", s.wal[:log], 0o600)); err != nil {
		return err
	}
	above := filepath.Dir(s.root)
	if err := leave(after(s.rec.ops[:n], s.root), above, dir, draw.IntN(2) == 0, draw); err != nil {
		return err
	}
	st, err := store.Open(ctx, path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	look := &storetest.Side{Name: "after step " + strconv.Itoa(n), Store: st, Blobs: NewDir(root), Saved: map[jobs.Hash]bool{}}
	for h, size := range s.saved {
		look.Saved[h] = size <= log
		if !look.Saved[h] {
			delete(look.Saved, h)
		}
	}
	if err := look.Check(ctx, co); err != nil {
		return err
	}
	return filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) && path == root {
			return nil
		}
		if err != nil || d.IsDir() || !isPhoto(path) {
			return err
		}
		data, err := os.ReadFile(path)
		h := jobs.HashBlob(data)
		if name := strings.TrimSuffix(filepath.Base(path), ".jpg"); err == nil && name != hex.EncodeToString(h[:]) {
			return fmt.Errorf("after step %d, %s is not what its name says", n, path)
		}
		return err
	})
}

// The power goes at any moment while photos are kept, at a home and at a server to which they come in pieces, also when the program was
// ended before in the middle of one. TACET_PHOTO_CUTS gives the number.
func TestPowerCutWhilePhotosAreKept(t *testing.T) {
	cuts := 200
	if testing.Short() {
		cuts = 20 // the race detector looks at each step ten times as long
	}
	if s := os.Getenv("TACET_PHOTO_CUTS"); s != "" {
		var err error
		if cuts, err = strconv.Atoi(s); err != nil {
			t.Fatal(err)
		}
	}
	sides := []*side{recordHome(t, 24), recordServer(t, 24)}
	dir := filepath.Join(ram(t), "cut")
	for i := range cuts {
		if err := sides[i%2].cut(dir, mrand.New(mrand.NewPCG(uint64(i), 1))); err != nil {
			t.Fatalf("cut %d: %v", i, err)
		}
	}
	t.Logf("evidence: %d cuts while photos were kept, at %d steps on two disks: none is named that is not whole", cuts, len(sides[0].rec.ops)+len(sides[1].rec.ops))
}

// Each sync is needed: without it some cut leaves a row that names what is not there.
func TestPowerCutFindsWhatIsLeftOut(t *testing.T) {
	dir := filepath.Join(ram(t), "cut")
	for _, skip := range []string{"sync", "syncdir"} {
		s := recordHome(t, 8, skip)
		found := 0
		for i := 0; found == 0 && i < 200; i++ {
			if err := s.cut(dir, mrand.New(mrand.NewPCG(uint64(i), 1))); err != nil {
				t.Logf("without %s: cut %d: %v", skip, i, err)
				found++
			}
		}
		if found == 0 {
			t.Errorf("without %s nothing was found wrong in 200 cuts", skip)
		}
	}
}

// ram is a folder in memory where there is one: what is looked at is what is in files, not how long a disk takes.
func ram(t *testing.T) string {
	t.Helper()
	base := "/dev/shm"
	if _, err := os.Stat(base); err != nil {
		base = ""
	}
	dir, err := os.MkdirTemp(base, "tacet-photo-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return dir
}
