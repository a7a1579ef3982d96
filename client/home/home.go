// Package home is the folder of one device: its record, its photos, its key and its sign-in. Several processes may use a
// home at once (a command beside the local pages); what one of them saved, the next one sees.
//
//	record.db      the entries, and the tables made from them
//	photos/        pictures by content, each company's apart
//	keys/ID.key    the private key of each device id that this home has had, for its owner's eyes only
//	first.json     who the home is before it joins a company, so that two first starts at once agree
//	succession.json  since when and why the home goes on as another device
//	sign-in.json   the token that fetches the next one, for its owner's eyes only
//
// The keys lie outside the database: a copy of the database alone can't speak for the device.
//
// Map: home.go open and close; first.go the first start; key.go keys; job.go which job is meant; record.go recording with
// photos; unseen.go what a batch covered unseen; signin.go tokens; join.go enrolment; exchange.go sending and fetching;
// warning.go what people should know early; backup.go backup and restore; successor.go going on as another device;
// pin.go handing a shared device on; news.go hearing that there is something new; history.go a job's entries; firm.go the firm's own job.
package home

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"syscall"
	"time"

	"tacet/jobs"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/store"
)

// Home is an open home.
type Home struct {
	Dir     string
	Replica *replica.Replica
	Store   *store.Store
	Blobs   replica.Blobs
	Me      replica.Me // who this home was when it was opened

	exchanging sync.Mutex // one exchange at a time in this process
}

// Open opens the home in a folder, and makes one where there is none yet: it then works alone, under a company id of its
// own, and the person at the machine is its owner.
func Open(ctx context.Context, dir string) (*Home, error) {
	if dir == "" {
		return nil, &jobs.InputError{Field: "--home", Value: "empty", Hint: "give a folder"}
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, folderError(dir, err)
	}
	st, err := store.Open(ctx, filepath.Join(dir, "record.db"))
	if err != nil {
		return nil, folderError(dir, err)
	}
	h := &Home{Dir: dir, Store: st}
	if err := h.start(ctx); err != nil {
		return nil, errors.Join(err, st.Close())
	}
	return h, nil
}

func (h *Home) start(ctx context.Context) error {
	h.Blobs = photo.NewDir(filepath.Join(h.Dir, "photos"))
	me, err := h.Store.Active(ctx)
	if errors.Is(err, replica.ErrNoHome) {
		me, err = h.first(ctx)
	}
	if err != nil {
		return err
	}
	if err := h.use(me); err != nil {
		return err
	}
	return h.goOn(ctx)
}

// use makes the replica of an identity.
func (h *Home) use(me replica.Me) error {
	key, err := h.readKey(me.Device)
	if err != nil {
		return err
	}
	h.Me = me
	h.Replica = replica.New(replica.Config{Store: h.Store, Blobs: h.Blobs, Company: me.Company, Device: me.Device, Key: key,
		Now: time.Now, Rand: rand.Reader})
	return nil
}

// Close closes the home. What was recorded is on the disk already.
func (h *Home) Close() error { return h.Store.Close() }

// Enrolled tells whether the home belongs to a company with a server.
func (h *Home) Enrolled() bool { return h.Me.Server != "" }

// Author is who records in this home.
func (h *Home) Author() jobs.Author { return jobs.Author{Person: h.Me.Person, Role: h.Me.Role} }

// folderError says in one line what is wrong with the folder.
func folderError(dir string, err error) error {
	switch {
	case errors.Is(err, fs.ErrPermission):
		return &jobs.InputError{Field: "--home", Value: dir, Hint: "it can't be written to; choose another folder or change its rights"}
	case errors.Is(err, syscall.ENOTDIR):
		return &jobs.InputError{Field: "--home", Value: dir, Hint: "that is a file; give a folder"}
	case errors.Is(err, fs.ErrNotExist):
		return &jobs.InputError{Field: "--home", Value: dir, Hint: "it can't be made there; give another folder"}
	case errors.Is(err, syscall.ENOSPC), diskFull(dir):
		return fmt.Errorf("open %s: %w", dir, replica.ErrNoSpace)
	}
	return fmt.Errorf("open %s: %w", dir, err)
}

// diskFull tells whether the folder's disk has no room even for a little. The database itself then only says that it
// could not read or write.
func diskFull(dir string) bool {
	f, err := os.CreateTemp(dir, ".probe-*")
	if err != nil {
		return errors.Is(err, syscall.ENOSPC)
	}
	_, err = f.Write(make([]byte, 64<<10))
	err = errors.Join(err, f.Sync(), f.Close())
	return errors.Join(err, os.Remove(f.Name())) != nil && errors.Is(err, syscall.ENOSPC)
}
