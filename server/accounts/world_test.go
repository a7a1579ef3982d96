package accounts_test

import (
	"crypto/ed25519"
	"crypto/rand"
	"errors"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/storetest"
	"tacet/sync/wire"
)

const password = "slate gutter ninety"

// world is a server's accounts with one company, on a clock of its own.
type world struct {
	*accounts.Accounts
	t      *testing.T
	store  *store.Store
	keys   accounts.Keys
	keyDir string
	co     accounts.Company

	mu  sync.Mutex
	now time.Time
}

// each runs a test on SQLite and, where one is given, on PostgreSQL.
func each(t *testing.T, test func(*testing.T, *world)) {
	t.Run("sqlite", func(t *testing.T) { test(t, newWorld(t, filepath.Join(t.TempDir(), "tacet.db"))) })
	t.Run("postgres", func(t *testing.T) { test(t, newWorld(t, storetest.PostgresDSN(t))) })
}

func newWorld(t *testing.T, source string) *world {
	t.Helper()
	keyDir := filepath.Join(t.TempDir(), "keys")
	keys, err := accounts.LoadKeys(keyDir)
	if err != nil {
		t.Fatal(err)
	}
	st, err := store.Open(t.Context(), source)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	})
	w := openWorld(t, st, keys)
	w.keyDir = keyDir
	if w.co, err = w.AddCompany(t.Context(), "Quarrystone Interiors (invented)"); err != nil {
		t.Fatal(err)
	}
	return w
}

// newWorldWithout is a world on SQLite without a company.
func newWorldWithout(t *testing.T, keys accounts.Keys) *world {
	t.Helper()
	return openWorld(t, storetest.SQLite(t), keys)
}

func openWorld(t *testing.T, st *store.Store, keys accounts.Keys) *world {
	t.Helper()
	w := &world{t: t, store: st, keys: keys, now: time.Date(2026, 3, 2, 7, 30, 0, 0, time.UTC)}
	var err error
	w.Accounts, err = accounts.New(accounts.Config{DB: st.DB(), Record: st, Keys: keys, Now: w.clock})
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func (w *world) clock() time.Time {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.now
}

func (w *world) wait(d time.Duration) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.now = w.now.Add(d)
}

func (w *world) user(login string, role jobs.Role) accounts.User {
	w.t.Helper()
	u, err := w.AddUser(w.t.Context(), accounts.User{Company: w.co.ID, Login: login, Role: role}, password)
	if err != nil {
		w.t.Fatal(err)
	}
	return u
}

// tablet is a device with its key.
type tablet struct {
	w   *world
	id  string
	key ed25519.PrivateKey
}

func (w *world) tablet() tablet {
	w.t.Helper()
	_, key, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		w.t.Fatal(err)
	}
	return tablet{w: w, id: uuid.Must(uuid.NewV7()).String(), key: key}
}

func (d tablet) prove(signed func(int64) ([]byte, error)) accounts.Proof {
	d.w.t.Helper()
	at := d.w.clock()
	m, err := signed(at.UnixMilli())
	if err != nil {
		d.w.t.Fatal(err)
	}
	return accounts.Proof{At: at, Message: m, Sig: ed25519.Sign(d.key, m)}
}

func (d tablet) enrol(code string) (accounts.Grant, error) {
	proof := d.prove(wire.EnrolRequest{Code: code, Device: d.id}.Signed)
	return d.w.Enrol(d.w.t.Context(), code, accounts.NewDevice{ID: d.id, Key: d.key.Public().(ed25519.PublicKey), Name: "tablet", Proof: proof}, "192.0.2.7")
}

func (d tablet) refresh(token string) (accounts.Grant, error) {
	return d.w.Refresh(d.w.t.Context(), token, d.prove(wire.RefreshRequest{RefreshToken: token, Device: d.id}.Signed))
}

func (d tablet) signIn(login, password string) (accounts.Grant, error) {
	proof := d.prove(wire.SignInRequest{Login: login, Device: d.id}.Signed)
	return d.w.SignIn(d.w.t.Context(), login, password, d.id, proof, "192.0.2.7")
}

// enrolled makes a user, a device, and enrols the one on the other.
func (w *world) enrolled(login string, role jobs.Role) (tablet, accounts.Grant) {
	w.t.Helper()
	w.user(login, role)
	code, err := w.EnrolCode(w.t.Context(), login, accounts.CodeLife)
	if err != nil {
		w.t.Fatal(err)
	}
	d := w.tablet()
	g, err := d.enrol(code)
	if err != nil {
		w.t.Fatal(err)
	}
	return d, g
}

// wantErr fails unless err is want, which may be nil.
func wantErr(t *testing.T, doing string, err, want error) {
	t.Helper()
	if !errors.Is(err, want) || (err == nil) != (want == nil) {
		t.Errorf("%s: got %v, want %v", doing, err, want)
	}
}

func wantInput(t *testing.T, doing string, err error, field string) {
	t.Helper()
	var in *jobs.InputError
	if !errors.As(err, &in) || in.Field != field {
		t.Errorf("%s: got %v, want an input error for %s", doing, err, field)
	}
}

// device reads a device as the record has it.
func (w *world) device(id string) replica.Device {
	w.t.Helper()
	var d replica.Device
	err := w.store.Read(w.t.Context(), w.co.ID, func(tx replica.Tx) (err error) {
		d, err = tx.Device(id)
		return err
	})
	if err != nil {
		w.t.Fatal(err)
	}
	return d
}
