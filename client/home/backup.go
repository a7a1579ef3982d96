package home

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"tacet/jobs"
	"tacet/server/ops"
	"tacet/sync/durable"
)

// smallFiles are what a home keeps beside record, photos and keys. The sign-in is not among them: it would not be good
// any more.
var smallFiles = []string{"first.json", "firm.txt"}

// Backup writes record, photos and keys into one new zip file, while the home is in use. Whoever has the file can be this
// device.
func (h *Home) Backup(ctx context.Context, path string, now time.Time) error {
	db, err := h.Store.DB().DB()
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	src := ops.Source{DB: db, Photos: filepath.Join(h.Dir, "photos"), Keys: filepath.Join(h.Dir, "keys"), Files: map[string]string{}}
	for _, name := range smallFiles {
		if _, err := os.Stat(filepath.Join(h.Dir, name)); err == nil {
			src.Files[name] = filepath.Join(h.Dir, name)
		}
	}
	return ops.Backup(ctx, src, path, now)
}

// Restore puts a backup in the place of what a folder holds, which is kept beside it and not deleted, and opens the home. A
// home of a company goes on as a new device at once: what it wrote after the backup may be at the server already.
func Restore(ctx context.Context, dir, path string, now time.Time) (h *Home, kept string, err error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, "", folderError(dir, err)
	}
	work, err := os.MkdirTemp(dir, ".restore-*")
	if err != nil {
		return nil, "", folderError(dir, err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	m, err := ops.Unpack(ctx, path, work)
	if err != nil {
		return nil, "", err
	}
	if _, ok := m.Files["first.json"]; !ok || !m.Keys {
		return nil, "", &jobs.InputError{Field: "file", Value: path, Hint: "it holds no device's keys: is it the backup of a server?"}
	}
	kept, err = putAside(dir, now)
	if err != nil {
		return nil, "", err
	}
	// The note is there before the record is: whenever this is cut off, the old id is not used again.
	if err := writeSuccession(dir, Succession{Why: WhyRestored, At: now.UTC()}); err != nil {
		return nil, kept, err
	}
	names, err := os.ReadDir(work)
	if err != nil {
		return nil, kept, fmt.Errorf("restore: %w", err)
	}
	for _, last := range []bool{false, true} { // the record last
		for _, f := range names {
			to := f.Name()
			if isRecord := to == "tacet.db"; isRecord != last {
				continue
			} else if isRecord {
				to = "record.db"
			}
			if err := os.Rename(filepath.Join(work, f.Name()), filepath.Join(dir, to)); err != nil {
				return nil, kept, fmt.Errorf("restore: %w", err)
			}
		}
	}
	if err := durable.Folder(dir); err != nil {
		return nil, kept, err
	}
	h, err = Open(ctx, dir)
	return h, kept, err
}

// putAside moves what a home holds into a folder of its own.
func putAside(dir string, now time.Time) (kept string, err error) {
	names, err := os.ReadDir(dir)
	if err != nil {
		return "", folderError(dir, err)
	}
	kept = filepath.Join(dir, "before-restore-"+now.UTC().Format("20060102-150405"))
	moved := false
	for _, f := range names {
		if strings.HasPrefix(f.Name(), ".") || strings.HasPrefix(f.Name(), "before-restore-") {
			continue
		}
		if err := os.MkdirAll(kept, 0o700); err != nil {
			return "", folderError(dir, err)
		}
		if err := os.Rename(filepath.Join(dir, f.Name()), filepath.Join(kept, f.Name())); err != nil {
			return "", fmt.Errorf("keep what was here: %w", err)
		}
		moved = true
	}
	if !moved {
		return "", nil
	}
	return kept, durable.Folder(dir)
}
