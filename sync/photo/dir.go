package photo

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"sync"

	"tacet/jobs"
	"tacet/sync/replica"
)

// Dir is a folder of photos, each under its hash, each company's apart.
type Dir struct {
	root string
	on   files
	made sync.Map // folders that are on the disk for certain, because this program has synced them
}

var _ replica.Blobs = (*Dir)(nil)

// NewDir uses the folder at root, which is made when the first photo comes.
func NewDir(root string) *Dir { return &Dir{root: filepath.Clean(root), on: disk{}} }

// company keeps whatever calls itself a company from becoming a path of its own.
var company = regexp.MustCompile(`^[0-9a-f-]{36}$`)

func (d *Dir) path(co string, h jobs.Hash) (string, error) {
	if !company.MatchString(co) {
		return "", fmt.Errorf("photos of company %q: %w", co, jobs.ErrNotFound)
	}
	name := hex.EncodeToString(h[:])
	return filepath.Join(d.root, co, name[:2], name+".jpg"), nil
}

// Put keeps a photo. It is whole and on the disk when Put returns: written beside its place, synced, moved, and the
// folder synced too.
func (d *Dir) Put(_ context.Context, co string, data []byte) (jobs.Hash, error) {
	h := jobs.HashBlob(data)
	path, err := d.path(co, h)
	if err != nil {
		return h, err
	}
	if have, err := os.ReadFile(path); err == nil && jobs.HashBlob(have) == h {
		// whoever put it there may have been ended before the folder was synced, or is about to
		return h, errors.Join(d.makeDirs(filepath.Dir(path)), d.on.SyncDir(filepath.Dir(path)))
	}
	if err := d.roomFor(int64(len(data))); err != nil {
		return h, err
	}
	return h, d.full(h, d.write(path, data))
}

func (d *Dir) write(path string, data []byte) (err error) {
	dir := filepath.Dir(path)
	if err := d.makeDirs(dir); err != nil {
		return err
	}
	f, err := d.on.CreateTemp(dir, ".part-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, f.Close(), d.on.Remove(f.Name()))
		}
	}()
	if _, err := f.WriteAt(data, 0); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return err
	}
	if err := d.on.Rename(f.Name(), path); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	return d.on.SyncDir(dir)
}

// makeDirs makes a folder and syncs every one above it, up to the one in which the photos' own lies, so that it is not lost with all
// that is in it. A folder that is there already may have been made by a program that was ended before it synced: the first time it is
// used it is synced all the same.
func (d *Dir) makeDirs(dir string) error {
	if _, sure := d.made.Load(dir); sure {
		if _, err := os.Stat(dir); err == nil {
			return nil
		}
	}
	if err := d.on.MkdirAll(dir); err != nil {
		return err
	}
	for at := dir; at != filepath.Dir(at); at = filepath.Dir(at) {
		err := d.on.SyncDir(filepath.Dir(at))
		if at != d.root && err != nil {
			return err
		}
		if at == d.root {
			if err != nil && !errors.Is(err, fs.ErrPermission) { // who may not read a folder did not make one in it
				return err
			}
			break
		}
	}
	d.made.Store(dir, true)
	return nil
}

// Get reads a photo and makes sure that it is the one asked for.
func (d *Dir) Get(_ context.Context, co string, h jobs.Hash) ([]byte, error) {
	path, err := d.path(co, h)
	if err != nil {
		return nil, err
	}
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("photo %s: %w", h, jobs.ErrNotFound)
	}
	if err != nil {
		return nil, fmt.Errorf("photo %s: %w", h, err)
	}
	if jobs.HashBlob(data) != h {
		return nil, fmt.Errorf("photo %s was changed on the disk: %w", h, replica.ErrBroken)
	}
	return data, nil
}

// Drop removes a photo. It is off the disk when Drop returns.
func (d *Dir) Drop(_ context.Context, co string, h jobs.Hash) error {
	path, err := d.path(co, h)
	if err != nil {
		return err
	}
	if err := d.on.Remove(path); errors.Is(err, fs.ErrNotExist) {
		return nil
	} else if err != nil {
		return fmt.Errorf("photo %s: %w", h, err)
	}
	return d.on.SyncDir(filepath.Dir(path))
}

// Size gives the length of a photo in bytes.
func (d *Dir) Size(_ context.Context, co string, h jobs.Hash) (int64, error) {
	path, err := d.path(co, h)
	if err != nil {
		return 0, err
	}
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, fmt.Errorf("photo %s: %w", h, jobs.ErrNotFound)
	}
	if err != nil {
		return 0, fmt.Errorf("photo %s: %w", h, err)
	}
	return info.Size(), nil
}
