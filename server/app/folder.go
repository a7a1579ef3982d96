package app

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"tacet/acoustics"
	"tacet/server/accounts"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/store"
)

// Folder is where a server's data lies: keys and photos in the folder Dir, and the database too unless Database names another.
type Folder struct {
	Dir      string
	Database string // DSN of a PostgreSQL database, or empty
	Ledger   string // folder of the ledger of access, best on another disk; empty for one in Dir
}

func (f Folder) keys() string   { return filepath.Join(f.Dir, "keys") }
func (f Folder) photos() string { return filepath.Join(f.Dir, "photos") }
func (f Folder) ledger() *accessLedger {
	return &accessLedger{lineFile{path: filepath.Join(f.ledgers(), "access.jsonl")}}
}
func (f Folder) erasures() *erasureLedger {
	return &erasureLedger{lineFile{path: filepath.Join(f.ledgers(), "erased.jsonl")}}
}
func (f Folder) ledgers() string {
	if f.Ledger != "" {
		return f.Ledger
	}
	return filepath.Join(f.Dir, "ledger")
}
func (f Folder) sqlite() string { return filepath.Join(f.Dir, "tacet.db") }

// source is what the store is opened with.
func (f Folder) source() string {
	if f.Database != "" {
		return f.Database
	}
	return f.sqlite()
}

// house is an open folder.
type house struct {
	folder   Folder
	store    *store.Store
	blobs    replica.Blobs
	replica  *replica.Replica
	accounts *accounts.Accounts
	key      ed25519.PublicKey // with which this server's receipts are checked
}

// open opens the folder and makes what is missing.
func (f Folder) open(ctx context.Context) (*house, error) { return f.openFor(ctx, 0) }

// openFor is open for a server that keeps so many bytes of photos of each company; 0 is no limit.
func (f Folder) openFor(ctx context.Context, quota int64) (*house, error) {
	if err := os.MkdirAll(f.Dir, 0o700); err != nil {
		return nil, fmt.Errorf("make the data folder: %w", err)
	}
	keys, err := accounts.LoadKeys(f.keys())
	if err != nil {
		return nil, err
	}
	st, err := store.Open(ctx, f.source())
	if err != nil {
		return nil, fmt.Errorf("open database: %w", err)
	}
	h := &house{folder: f, store: st, blobs: photo.NewDir(f.photos()), key: keys.RecordPublic()}
	erased := f.erasures()
	h.replica = replica.New(replica.Config{Store: st, Blobs: h.blobs, Device: keys.Server, Key: keys.Record, Now: time.Now, Rand: rand.Reader, Quota: quota, Erasing: erased.entry})
	h.accounts, err = accounts.New(accounts.Config{DB: st.DB(), Record: st, Keys: keys, Ledger: f.ledger(), Erasing: erased.person})
	if err != nil {
		return nil, errors.Join(err, st.Close())
	}
	return h, nil
}

func (h *house) close() error { return h.store.Close() }

// with opens a folder that a server or a company was made in before. On any other, a command is a slip of the keys: it must not make an
// empty one and, say, back that up.
func (r *run) with(f func(*house) error) error {
	if !exists(filepath.Join(r.folder.keys(), "server-id")) {
		return &acoustics.InputError{Field: "--data", Value: r.folder.Dir, Hint: "no server's data lie there; serve or company add make them"}
	}
	return r.withNew(f)
}

// withNew opens a folder and makes it if need be.
func (r *run) withNew(f func(*house) error) error {
	h, err := r.folder.open(r.ctx)
	if err != nil {
		return err
	}
	return errors.Join(f(h), h.close())
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
