package photo

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
)

// The beginning of a photo that is on its way lies beside the photos in a file of its own, so that after a cut only the
// rest is sent again. Its name begins with a dot: it is no photo, no backup holds it, and nothing names it.

// partsKept is how long the beginning of a photo is kept after its last piece came.
const partsKept = 14 * 24 * time.Hour

func (d *Dir) partPath(co string, h jobs.Hash) (string, error) {
	if !company.MatchString(co) {
		return "", fmt.Errorf("photos of company %q: %w", co, jobs.ErrNotFound)
	}
	return filepath.Join(d.root, co, "arriving", "."+hex.EncodeToString(h[:])), nil
}

// Part tells how many bytes of a photo that is on its way are here.
func (d *Dir) Part(_ context.Context, co string, h jobs.Hash) (int64, error) {
	path, err := d.partPath(co, h)
	if err != nil {
		return 0, err
	}
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, fmt.Errorf("photo %s on its way: %w", h, err)
	}
	return info.Size(), nil
}

// AddPart keeps the next piece, which begins at most where those before it end. The same piece may come twice, also to two
// servers at once: it is the same bytes at the same place, or the whole will not have its hash.
func (d *Dir) AddPart(ctx context.Context, co string, h jobs.Hash, at int64, piece []byte) error {
	path, err := d.partPath(co, h)
	if err != nil {
		return err
	}
	have, err := d.Part(ctx, co, h)
	if err != nil {
		return err
	}
	if at < 0 || at > have {
		return fmt.Errorf("photo %s: a piece at %d, %d bytes are here: %w", h, at, have, replica.ErrBadFrame)
	}
	if err := d.roomFor(int64(len(piece))); err != nil {
		return err
	}
	return d.full(h, d.writePart(path, at, piece))
}

func (d *Dir) writePart(path string, at int64, piece []byte) error {
	if err := d.makeDirs(filepath.Dir(path)); err != nil {
		return err
	}
	f, err := d.on.Open(path)
	if err != nil {
		return err
	}
	_, err = f.WriteAt(piece, at)
	return errors.Join(err, f.Sync(), f.Close())
}

// JoinPart reads all that is here of a photo on its way.
func (d *Dir) JoinPart(_ context.Context, co string, h jobs.Hash) ([]byte, error) {
	path, err := d.partPath(co, h)
	if err != nil {
		return nil, err
	}
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("photo %s on its way: %w", h, err)
	}
	return data, nil
}

// DropPart forgets what is here of a photo on its way: it is whole now, or it was not what its hash says.
func (d *Dir) DropPart(_ context.Context, co string, h jobs.Hash) error {
	path, err := d.partPath(co, h)
	if err != nil {
		return err
	}
	if err := d.on.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("photo %s on its way: %w", h, err)
	}
	return nil
}

// Tidy removes what was begun and never went on: beginnings of photos, and files that a power cut left half written.
func (d *Dir) Tidy(now time.Time) error {
	var errs []error
	for _, pattern := range []string{filepath.Join("*", "arriving", ".*"), filepath.Join("*", "??", ".part-*")} {
		names, err := filepath.Glob(filepath.Join(d.root, pattern))
		errs = append(errs, err)
		for _, name := range names {
			info, err := os.Stat(name)
			if err != nil || !info.Mode().IsRegular() || now.Sub(info.ModTime()) < partsKept {
				continue
			}
			if err := d.on.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
				errs = append(errs, err)
			}
		}
	}
	return errors.Join(errs...)
}
