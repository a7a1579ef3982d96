package ops

import (
	"archive/zip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	"tacet/acoustics"
)

// maxManifest bounds what is read of a manifest: about a million photos.
const maxManifest = 256 << 20

// Unpack writes what a backup holds into the empty folder dir and checks each file against the manifest on the way: size, hash, that none
// is missing, that none is there which the manifest does not name, and that no name leads out of the folder.
func Unpack(ctx context.Context, path, dir string) (Manifest, error) {
	var m Manifest
	z, err := zip.OpenReader(path)
	if errors.Is(err, fs.ErrNotExist) {
		return m, &acoustics.InputError{Field: "file", Value: path, Hint: "it is not there"}
	}
	if err != nil {
		return m, notBackup(path, err.Error())
	}
	defer z.Close()
	if m, err = readManifest(&z.Reader); err != nil {
		return m, notBackup(path, err.Error())
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return m, fmt.Errorf("restore: %w", err)
	}
	defer root.Close()
	seen := map[string]bool{"manifest.json": true}
	for _, f := range z.File {
		if err := ctx.Err(); err != nil {
			return m, err
		}
		if f.Name == "manifest.json" {
			continue
		}
		want, named := m.Files[f.Name]
		if !named || seen[f.Name] || !kept(f.Name) {
			return m, notBackup(path, fmt.Sprintf("%.80q does not belong in it", f.Name))
		}
		seen[f.Name] = true
		if err := unpackFile(root, f, want); err != nil {
			return m, notBackup(path, err.Error())
		}
	}
	for name := range m.Files {
		if !seen[name] {
			return m, notBackup(path, fmt.Sprintf("%.80q is missing from it", name))
		}
	}
	if !seen["tacet.db"] {
		return m, notBackup(path, "it holds no database")
	}
	return m, nil
}

// kept tells whether a backup may hold a file of that name.
func kept(name string) bool {
	return name == "tacet.db" || name == "first.json" || name == "firm.txt" || filepath.IsLocal(name) && (strings.HasPrefix(name, "photos/") || strings.HasPrefix(name, "keys/"))
}

func readManifest(z *zip.Reader) (m Manifest, err error) {
	f, err := z.Open("manifest.json")
	if err != nil {
		return m, errors.New("it has no manifest")
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, maxManifest))
	if err != nil {
		return m, err
	}
	if err := json.Unmarshal(text, &m); err != nil {
		return m, fmt.Errorf("its manifest can't be read: %w", err)
	}
	if m.Format != 1 {
		return m, fmt.Errorf("it is of format %d; this program reads format 1", m.Format)
	}
	return m, nil
}

func unpackFile(root *os.Root, f *zip.File, want File) (err error) {
	name := filepath.FromSlash(f.Name)
	if err := root.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return err
	}
	in, err := f.Open()
	if err != nil {
		return fmt.Errorf("%s: %w", f.Name, err)
	}
	defer in.Close()
	out, err := root.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(out, sum), io.LimitReader(in, want.Size+1))
	if err := errors.Join(err, out.Sync(), out.Close()); err != nil {
		return fmt.Errorf("%s: %w", f.Name, err)
	}
	if n != want.Size || hex.EncodeToString(sum.Sum(nil)) != want.SHA256 {
		return fmt.Errorf("%s is not what was backed up", f.Name)
	}
	return nil
}

// notBackup says what is wrong with a file, unless it is the disk that is full.
func notBackup(path, says string) error {
	if strings.Contains(says, syscall.ENOSPC.Error()) {
		return fmt.Errorf("restore: %s", says)
	}
	return &acoustics.InputError{Field: "file", Value: path, Hint: "it is no sound backup: " + says}
}
