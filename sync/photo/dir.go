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

	"tacet/jobs"
	"tacet/sync/replica"
)

// Dir is a folder of photos, each under its hash, each company's apart.
type Dir struct{ root string }

var _ replica.Blobs = (*Dir)(nil)

// NewDir uses the folder at root, which is made when the first photo comes.
func NewDir(root string) *Dir { return &Dir{root: root} }

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
		return h, nil
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
	f, err := os.CreateTemp(dir, ".part-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, f.Close(), os.Remove(f.Name()))
		}
	}()
	if _, err := f.Write(data); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	return syncDir(dir)
}

// makeDirs makes the folders and syncs each one's parent, so that a new folder is not lost with all that is in it.
func (d *Dir) makeDirs(dir string) error {
	if _, err := os.Stat(dir); err == nil {
		return nil
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	for at := filepath.Dir(dir); ; at = filepath.Dir(at) {
		if err := syncDir(at); err != nil {
			return err
		}
		if at == d.root || at == filepath.Dir(at) {
			return nil
		}
	}
}

func syncDir(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
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
