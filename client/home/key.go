package home

import (
	"crypto/ed25519"
	"crypto/rand"
	"encoding/base64"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"tacet/sync/durable"
)

func (h *Home) keyPath(device string) string {
	return filepath.Join(h.Dir, "keys", device+".key")
}

// makeKey draws the key of a new device id and puts it in the folder before anything is signed with it.
func (h *Home) makeKey(device string) (ed25519.PrivateKey, error) {
	_, key, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("make a key: %w", err)
	}
	if err := os.MkdirAll(filepath.Join(h.Dir, "keys"), 0o700); err != nil {
		return nil, folderError(h.Dir, err)
	}
	return key, writeFile(h.keyPath(device), []byte(base64.StdEncoding.EncodeToString(key.Seed())+"\n"))
}

func (h *Home) readKey(device string) (ed25519.PrivateKey, error) {
	text, err := os.ReadFile(h.keyPath(device))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("the key of this device is gone (%s): put it back from a backup, or enrol again in a new folder", h.keyPath(device))
	}
	if err != nil {
		return nil, fmt.Errorf("read the key of this device: %w", err)
	}
	seed, err := base64.StdEncoding.DecodeString(strings.TrimSpace(string(text)))
	if err != nil || len(seed) != ed25519.SeedSize {
		return nil, fmt.Errorf("%s does not hold a key", h.keyPath(device))
	}
	return ed25519.NewKeyFromSeed(seed), nil
}

// writeFile puts a small secret file in place whole, durable, and readable by its owner alone.
func writeFile(path string, data []byte) error {
	err := durable.File(path, durable.Secret, durable.Bytes(data))
	if err != nil {
		return fmt.Errorf("write %s: %w", filepath.Base(path), err)
	}
	return nil
}
