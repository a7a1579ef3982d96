package ops

import (
	"encoding/json"
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
func WriteServerKeys(keys, path string) error {
	files, err := smallFiles(keys)
	if err == nil {
		err = durable.File(path, durable.Secret, func(w io.Writer) error { return json.NewEncoder(w).Encode(files) })
	}
	if err != nil {
		return fmt.Errorf("write the server's keys: %w", err)
	}
	return nil
}

// smallFiles reads the files of a folder, by name.
func smallFiles(dir string) (map[string][]byte, error) {
	list, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	files := map[string][]byte{}
	for _, e := range list {
		if !e.Type().IsRegular() {
			continue
		}
		if files[e.Name()], err = os.ReadFile(filepath.Join(dir, e.Name())); err != nil {
			return nil, err
		}
	}
	return files, nil
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
	for name, data := range files {
		if filepath.Base(name) != name || !filepath.IsLocal(name) {
			return &acoustics.InputError{Field: "file", Value: path, Hint: "it holds no keys of a server"}
		}
		if err := durable.File(filepath.Join(keys, name), durable.Secret, durable.Bytes(data)); err != nil {
			return fmt.Errorf("restore: %w", err)
		}
	}
	return nil
}
