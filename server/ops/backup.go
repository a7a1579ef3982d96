package ops

import (
	"archive/zip"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"tacet/acoustics"
	"tacet/sync/durable"
)

// Manifest says what a backup holds. It is the last file of the zip.
type Manifest struct {
	Format  int             `json:"format"` // 1
	Created time.Time       `json:"created"`
	Keys    bool            `json:"keys"` // whether the server's keys are in it
	Files   map[string]File `json:"files"`
}

// File is one file of a backup.
type File struct {
	Size   int64  `json:"size"`
	SHA256 string `json:"sha256"`
}

// Source is what is backed up.
type Source struct {
	DB     *sql.DB           // SQLite
	Photos string            // folder
	Keys   string            // folder; empty leaves the keys out
	Files  map[string]string // small files, by their name in the backup

	// PeopleKeys is the file for the keys of people's words, which are then not in the backup itself. Empty leaves them in it, as a device
	// does that may be the only one to have them.
	PeopleKeys string
}

// Backup writes everything into a new zip file at path, while the server runs. The database is copied by SQLite itself (VACUUM INTO):
// copying the file of a database in use loses what stands in its log. Photos come after it, so whatever photo the copy speaks of is there.
// The file appears whole under its name or not at all, and only its owner may read it.
func Backup(ctx context.Context, src Source, path string, now time.Time) (err error) {
	if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
		return &acoustics.InputError{Field: "file", Value: path, Hint: "it exists already; give a new name"}
	}
	dir := filepath.Dir(path)
	work, err := os.MkdirTemp(dir, ".tacet-backup-*")
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	db := filepath.Join(work, "tacet.db")
	if _, err := src.DB.ExecContext(ctx, "VACUUM INTO ?", db); err != nil {
		return fmt.Errorf("copy the database: %w", err)
	}
	if src.PeopleKeys != "" {
		if err := dropPeopleKeys(ctx, db); err != nil {
			return err
		}
		// After the copy: whatever the copy holds sealed, its key is there unless it was thrown away.
		if err := WritePeopleKeys(ctx, src.DB, src.PeopleKeys); err != nil {
			return err
		}
	}
	whole := filepath.Join(work, "backup.zip")
	f, err := os.OpenFile(whole, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	err = src.write(ctx, f, db, now)
	err = errors.Join(err, f.Sync(), f.Close())
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	// Link and not rename: it fails if somebody took the name meanwhile.
	if err := os.Link(whole, path); err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	return durable.Folder(dir)
}

func (src Source) write(ctx context.Context, w io.Writer, db string, now time.Time) error {
	z := zip.NewWriter(w)
	m := Manifest{Format: 1, Created: now.UTC().Truncate(time.Second), Keys: src.Keys != "", Files: map[string]File{}}
	if err := m.add(z, "tacet.db", db); err != nil {
		return err
	}
	for name, dir := range map[string]string{"photos": src.Photos, "keys": src.Keys} {
		if dir == "" {
			continue
		}
		if err := m.addAll(ctx, z, name, dir); err != nil {
			return err
		}
	}
	for name, path := range src.Files {
		if err := m.add(z, name, path); err != nil {
			return err
		}
	}
	text, err := json.MarshalIndent(m, "", " ")
	if err != nil {
		return err
	}
	part, err := z.Create("manifest.json")
	if err != nil {
		return err
	}
	if _, err := part.Write(text); err != nil {
		return err
	}
	return z.Close()
}

func (m Manifest) addAll(ctx context.Context, z *zip.Writer, name, dir string) error {
	return filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			return nil // a folder that no photo ever needed, or a file that was still being written
		}
		if err != nil || ctx.Err() != nil {
			return errors.Join(err, ctx.Err())
		}
		if !d.Type().IsRegular() || strings.HasPrefix(d.Name(), ".") {
			return nil
		}
		rel, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		return m.add(z, name+"/"+filepath.ToSlash(rel), path)
	})
}

func (m Manifest) add(z *zip.Writer, name, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	part, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: method(name), Modified: m.Created})
	if err != nil {
		return err
	}
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(part, sum), f)
	if err != nil {
		return err
	}
	m.Files[name] = File{Size: n, SHA256: hex.EncodeToString(sum.Sum(nil))}
	return nil
}

// method packs the database; photos are packed already.
func method(name string) uint16 {
	if strings.HasPrefix(name, "photos/") {
		return zip.Store
	}
	return zip.Deflate
}
