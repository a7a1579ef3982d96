package ops

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"tacet/acoustics"
	"tacet/sync/durable"
)

// ServerKeys is the name of the file with a server's own keys, in the folder of the backup. Whoever has it can be this server, so it is
// not in the backup unless that is asked for; without it a backup can be put back only where the keys still lie.
const ServerKeys = "server.keys"

// maxServerKeys bounds what is read of it: a few keys of a hundred bytes, some of them changed over the years.
const maxServerKeys = 1 << 20

// WriteServerKeys writes the files of the folder keys to path, in place of what was there.
func WriteServerKeys(keys, path string) (err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("write the server's keys: %w", err)
		}
	}()
	list, err := os.ReadDir(keys)
	if err != nil {
		return err
	}
	files := map[string][]byte{}
	for _, e := range list {
		if !e.Type().IsRegular() {
			continue
		}
		if files[e.Name()], err = os.ReadFile(filepath.Join(keys, e.Name())); err != nil {
			return err
		}
	}
	f, err := os.CreateTemp(filepath.Dir(path), ".server-keys-*") // for its owner alone
	if err != nil {
		return err
	}
	if err := errors.Join(json.NewEncoder(f).Encode(files), f.Sync(), f.Close()); err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return durable.Folder(filepath.Dir(path))
}

// ReadServerKeys puts the keys of a file that [WriteServerKeys] wrote into the folder keys, which it makes.
func ReadServerKeys(path, keys string) error {
	f, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("read the server's keys: %w", err)
	}
	defer f.Close()
	var files map[string][]byte
	if err := json.NewDecoder(io.LimitReader(f, maxServerKeys)).Decode(&files); err != nil || len(files) == 0 {
		return &acoustics.InputError{Field: "file", Value: path, Hint: "it holds no keys of a server"}
	}
	if err := os.Mkdir(keys, 0o700); err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	root, err := os.OpenRoot(keys)
	if err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	defer root.Close()
	for name, data := range files {
		if filepath.Base(name) != name || !filepath.IsLocal(name) {
			return &acoustics.InputError{Field: "file", Value: path, Hint: "it holds no keys of a server"}
		}
		if err := root.WriteFile(name, data, 0o600); err != nil {
			return fmt.Errorf("restore: %w", err)
		}
	}
	return nil
}
