package accounts

import (
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"tacet/sync/durable"
	"tacet/sync/pause"
	"tacet/sync/wire"
)

// RotateKeys makes a new key for access tokens in the folder dir. The one before is still accepted, so nobody notices; a change after that
// ends what it signed, which is minutes old at most. The key of the record never changes, because devices pinned it.
func RotateKeys(dir string) error {
	if _, err := LoadKeys(dir); err != nil {
		return err
	}
	text, err := newKey()
	if err != nil {
		return fmt.Errorf("make key: %w", err)
	}
	current, previous := filepath.Join(dir, "token.pem"), filepath.Join(dir, "token-previous.pem")
	// The old key gets its second name before it loses the first: at no moment is there none.
	if err := os.Remove(previous); err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("drop the key before: %w", err)
	}
	if err := os.Link(current, previous); err != nil {
		return fmt.Errorf("keep the key before: %w", err)
	}
	if err := durable.File(current, durable.Secret, durable.Bytes(text)); err != nil {
		return fmt.Errorf("put key in place: %w", err)
	}
	return nil
}

// Reload reads the keys of tokens anew, as they may have been changed beside this server.
func (a *Accounts) Reload() error {
	old := a.Keys()
	if old.dir == "" {
		return nil
	}
	k, err := LoadKeys(old.dir)
	if err != nil {
		return fmt.Errorf("read the keys anew: %w", err)
	}
	if !k.Record.Equal(old.Record) || k.Server != old.Server {
		return errors.New("read the keys anew: the folder holds another server's keys now")
	}
	a.held.Store(&k)
	return nil
}

// reloadSoon reloads at most once a second, so that strangers with made-up tokens can't keep the disk busy.
func (a *Accounts) reloadSoon() error {
	now, last := time.Now().UnixMilli(), a.looked.Load()
	if now-last < 1000 || !a.looked.CompareAndSwap(last, now) {
		return nil
	}
	return a.Reload()
}

// ReloadEvery is how often a server looks for changed keys, to sign with the new one.
const ReloadEvery = 30 * time.Second

// KeepFresh reloads until ctx ends; what goes wrong is told to fail.
func (a *Accounts) KeepFresh(ctx context.Context, fail func(error)) {
	for pause.For(ctx, ReloadEvery) {
		if err := a.Reload(); err != nil {
			fail(err)
		}
	}
}

// tokenKey is the public key of that id among the two that are accepted, nil if it is neither.
func (k Keys) tokenKey(id any) ed25519.PublicKey {
	for _, key := range []ed25519.PrivateKey{k.Token, k.Previous} {
		if key == nil {
			continue
		}
		if pub := key.Public().(ed25519.PublicKey); id == wire.KeyID(pub) {
			return pub
		}
	}
	return nil
}
