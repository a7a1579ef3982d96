package accounts

import (
	"crypto/ed25519"
	"crypto/hkdf"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"github.com/google/uuid"

	"tacet/sync/durable"
)

// Keys are the server's own secrets. They lie in files beside the database and never in it: who copies the database can neither sign
// a token nor a receipt.
type Keys struct {
	Server   string             // id of this server, also of the device that it is
	Record   ed25519.PrivateKey // signs receipts, cursors and the server's own seals; clients pin it when they enrol
	Token    ed25519.PrivateKey // signs access tokens
	Previous ed25519.PrivateKey // still accepted for tokens signed before the last change of keys; nil if there is none
	refresh  []byte             // derives the successor of a refresh token
	factor   []byte             // seals the secrets of authenticators
	notice   []byte             // seals what news is sent with, and signs the links in them
	dir      string
}

// LoadKeys reads the keys in the folder dir and makes those that are missing. Several servers that share the folder may start at once:
// each file is put in place whole, and the first to do so wins.
func LoadKeys(dir string) (Keys, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return Keys{}, fmt.Errorf("make the folder of keys: %w", err)
	}
	var k Keys
	for _, f := range []struct {
		name string
		key  *ed25519.PrivateKey
	}{{"token.pem", &k.Token}, {"record.pem", &k.Record}} {
		text, err := readOrMake(filepath.Join(dir, f.name), newKey)
		if err != nil {
			return Keys{}, err
		}
		if *f.key, err = parseKey(text); err != nil {
			return Keys{}, fmt.Errorf("read key %s: %w", f.name, err)
		}
	}
	if text, err := readSecret(filepath.Join(dir, "token-previous.pem")); err == nil {
		if k.Previous, err = parseKey(text); err != nil {
			return Keys{}, fmt.Errorf("read key token-previous.pem: %w", err)
		}
	} else if !errors.Is(err, fs.ErrNotExist) {
		return Keys{}, err
	}
	id, err := readOrMake(filepath.Join(dir, "server-id"), func() ([]byte, error) {
		id, err := uuid.NewV7()
		return []byte(id.String() + "\n"), err
	})
	if err != nil {
		return Keys{}, err
	}
	server, err := uuid.Parse(strings.TrimSpace(string(id)))
	if err != nil {
		return Keys{}, fmt.Errorf("read server-id: %w", err)
	}
	k.Server = server.String()
	// Derived from the key of the record rather than drawn: fewer files to keep, and that key never changes, because devices pin it.
	if k.refresh, err = hkdf.Key(sha256.New, k.Record.Seed(), nil, "tacet refresh successor 1", 32); err != nil {
		return Keys{}, err
	}
	if k.factor, err = hkdf.Key(sha256.New, k.Record.Seed(), nil, "tacet second factor 1", 32); err != nil {
		return Keys{}, err
	}
	k.notice, err = hkdf.Key(sha256.New, k.Record.Seed(), nil, "tacet notices 1", 32)
	k.dir = dir
	return k, err
}

func readOrMake(path string, create func() ([]byte, error)) ([]byte, error) {
	text, err := readSecret(path)
	if !errors.Is(err, fs.ErrNotExist) {
		return text, err
	}
	text, err = create()
	if err != nil {
		return nil, err
	}
	if err := durable.New(path, durable.Secret, durable.Bytes(text)); err != nil && !errors.Is(err, fs.ErrExist) {
		return nil, fmt.Errorf("make key: %w", err)
	}
	return readSecret(path)
}

func readSecret(path string) ([]byte, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("read key: %w", err)
	}
	if runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return nil, fmt.Errorf("others on this machine may read %s; make it 0600", path)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("read key: %w", err)
	}
	return text, nil
}

func newKey() ([]byte, error) {
	_, key, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return nil, err
	}
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	return pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der}), nil
}

func parseKey(text []byte) (ed25519.PrivateKey, error) {
	block, _ := pem.Decode(text)
	if block == nil || block.Type != "PRIVATE KEY" {
		return nil, errors.New("not a PEM private key")
	}
	key, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return nil, err
	}
	ed, ok := key.(ed25519.PrivateKey)
	if !ok {
		return nil, errors.New("not an Ed25519 key")
	}
	return ed, nil
}

// RecordPublic is the key that clients pin when they enrol.
func (k Keys) RecordPublic() ed25519.PublicKey { return k.Record.Public().(ed25519.PublicKey) }
