package replica_test

import (
	"bufio"
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	mrand "math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/storetest"
)

// pair is a home and its server in one process, each with a database file, for programs that are killed.
type pair struct {
	home, server           *store.Store
	photos, serverPhotos   *photo.Dir
	device                 *device
	saved                  map[jobs.Hash]bool
	serverSide, deviceSide *storetest.Side
}

func openPair(path string) (*pair, error) {
	ctx := context.Background()
	p := &pair{photos: photo.NewDir(path + ".photos"), serverPhotos: photo.NewDir(path + ".server.photos"), saved: map[jobs.Hash]bool{}}
	var err error
	if p.home, err = store.Open(ctx, path); err != nil {
		return nil, err
	}
	if p.server, err = store.Open(ctx, path+".server"); err != nil {
		return nil, errors.Join(err, p.home.Close())
	}
	w := &world{store: p.server, key: ed25519.NewKeyFromSeed(make([]byte, ed25519.SeedSize))}
	w.server = replica.New(replica.Config{Store: p.server, Blobs: p.serverPhotos, Device: w.id("e", 1), Key: w.key, Now: time.Now, Rand: rand.Reader})
	d := &device{world: w, id: w.id("d", 1), key: w.key, store: p.home, dir: p.photos}
	d.me = replica.Me{Company: company, Device: d.id, Person: w.id("b", 1), Role: jobs.Supervisor, ServerKey: pub(w.key), Server: "https://example.org"}
	if _, err := p.home.Active(ctx); errors.Is(err, replica.ErrNoHome) {
		if err := replica.Settle(ctx, p.home, d.me); err != nil {
			return nil, err
		}
	}
	d.Replica = atHome(p.home, p.photos, w.key)
	d.net = &network{d: d}
	p.device = d
	p.deviceSide = &storetest.Side{Name: "the home", Store: p.home, Replica: d.Replica, Blobs: p.photos, Saved: p.saved}
	p.serverSide = &storetest.Side{Name: "the server", Store: p.server, Replica: w.server, Blobs: p.serverPhotos}
	return p, nil
}

// atHome is the program of the only home there is, on a real clock.
func atHome(s replica.Store, photos *photo.Dir, key ed25519.PrivateKey) *replica.Replica {
	return replica.New(replica.Config{Store: s, Blobs: photos, Company: company, Device: (*world)(nil).id("d", 1), Key: key, Now: time.Now, Rand: rand.Reader})
}

func (p *pair) close() error { return errors.Join(p.home.Close(), p.server.Close()) }

// step records a note or a photo, and returns what is saved.
func (p *pair) step(i int) (saved []jobs.Hash, err error) {
	edge := fmt.Sprintf(`{"do":"note","text":"note %d"}`, i)
	if i%4 == 1 {
		h, err := p.photos.Put(ctx, company, fmt.Appendf(nil, "picture %d", mrand.Int()))
		if err != nil {
			return nil, err
		}
		edge = fmt.Sprintf(`{"do":"photo","surface":"C1","file":%q}`, h)
	}
	es, err := p.device.Record(ctx, company, p.device.author(), jobID, []json.RawMessage{json.RawMessage(edge)})
	if err != nil {
		return nil, err
	}
	for _, e := range es {
		saved = append(saved, e.Hash)
	}
	return saved, nil
}

// writer is the program that is killed: it records and exchanges without end, and says each entry's hash once it is saved.
func writer(path string) error {
	p, err := openPair(path)
	if err != nil {
		return err
	}
	for i := 0; ; i++ {
		hs, err := p.step(i)
		if err != nil {
			return err
		}
		for _, h := range hs {
			fmt.Println(h)
		}
		if i%3 == 2 {
			if _, err := p.device.Sync(ctx, p.device.net); err != nil {
				return err
			}
		}
	}
}

// A program that is killed at any moment, while it saves, exchanges or keeps photos, and a server with it, have kept all that
// they said they had: nothing is lost, nothing is there twice, and the next start goes on. (A kill leaves the page cache; what a
// power cut leaves is the matter of TestPowerCut.) TACET_KILLS gives the number.
func TestKill(t *testing.T) {
	path := filepath.Join(t.TempDir(), "home.db")
	p, err := openPair(path)
	if err != nil {
		t.Fatal(err)
	}
	p.device.t = t
	p.device.importHouse()
	kills := number(t, "TACET_KILLS", 50)
	for kill := range kills {
		for _, h := range killOnce(t, path, 1+kill%5) {
			p.saved[h] = true
		}
		if kill%10 == 9 {
			if err := errors.Join(p.deviceSide.Check(ctx, company), p.serverSide.Check(ctx, company)); err != nil {
				t.Fatalf("after %d kills: %v", kill+1, err)
			}
		}
	}
	for range 2 {
		p.device.sync()
	}
	if err := storetest.Agree(ctx, company, p.serverSide, p.deviceSide); err != nil {
		t.Error(err)
	}
	if len(p.saved) < kills {
		t.Errorf("%d entries were said to be saved", len(p.saved))
	}
	for _, s := range []*store.Store{p.home, p.server} {
		var says string
		if err := s.DB().Raw("PRAGMA integrity_check").Scan(&says).Error; err != nil || says != "ok" {
			t.Errorf("integrity_check: %s, %v", says, err)
		}
	}
	t.Logf("evidence: %d kills, %d entries said to be saved, %d here, none lost, none twice", kills, len(p.saved), len(p.deviceSide.Rows().Entries))
	if err := p.close(); err != nil {
		t.Error(err)
	}
}

// killOnce lets the writer run until it has said a few entries, and a moment longer, kills it, and returns all that it has said.
func killOnce(t *testing.T, path string, few int) (said []jobs.Hash) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), "TACET_TEST_WRITER="+path)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		var h jobs.Hash
		if err := h.UnmarshalText(lines.Bytes()); err != nil {
			break // killed within a line
		}
		if said = append(said, h); len(said) == few {
			time.AfterFunc(time.Duration(mrand.IntN(8_000))*time.Microsecond, func() { _ = cmd.Process.Kill() })
		}
	}
	if err := cmd.Wait(); err == nil {
		t.Fatal("the writer ended by itself")
	}
	if len(said) < few {
		t.Fatalf("the writer said %d entries and ended", len(said))
	}
	return said
}

// number is how much of something a test does: more in the long checks than always.
func number(t *testing.T, name string, otherwise int) int {
	t.Helper()
	s := os.Getenv(name)
	if s == "" && testing.Short() {
		return (otherwise + 9) / 10 // the race detector looks at each step ten times as long
	}
	if s == "" {
		return otherwise
	}
	n, err := strconv.Atoi(s)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return n
}
