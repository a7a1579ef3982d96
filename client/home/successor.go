package home

import (
	"context"
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"tacet/sync/replica"
	"tacet/sync/wire"
)

// Succession is a home that goes on under another device id: it was restored from a backup, or its disk was copied and the
// other copy was at the server first. It is on the disk before anything is done, so that what was cut off is finished.
type Succession struct {
	Was    string    `json:"was"`    // device id before; empty: whichever the restored record has
	Device string    `json:"device"` // device id since; empty: not drawn yet
	Why    string    `json:"why"`
	At     time.Time `json:"at"`
	Again  int       `json:"again"` // entries issued again
	Known  bool      `json:"known"` // the server knows the new id
}

// Why a home goes on as another device.
const (
	WhyRestored = "restored"
	WhyCopied   = "copied"
)

func successionPath(dir string) string { return filepath.Join(dir, "succession.json") }

// Succession tells since when and why this home goes on as another device; false where it never had to.
func (h *Home) Succession() (Succession, bool, error) { return readSuccession(h.Dir) }

func readSuccession(dir string) (s Succession, is bool, err error) {
	data, err := os.ReadFile(successionPath(dir))
	if errors.Is(err, fs.ErrNotExist) {
		return s, false, nil
	}
	if err == nil {
		err = json.Unmarshal(data, &s)
	}
	if err != nil {
		return s, false, fmt.Errorf("read %s: %w", successionPath(dir), err)
	}
	return s, true, nil
}

func writeSuccession(dir string, s Succession) error {
	data, err := json.Marshal(s)
	if err != nil {
		return fmt.Errorf("note the new device id: %w", err)
	}
	return writeFile(successionPath(dir), append(data, '\n'))
}

// goOn finishes a succession that was begun.
func (h *Home) goOn(ctx context.Context) error {
	s, begun, err := readSuccession(h.Dir)
	if err != nil || !begun || s.Device == h.Me.Device || s.Was != "" && s.Was != h.Me.Device {
		return err
	}
	if !h.Enrolled() {
		return os.Remove(successionPath(h.Dir)) // it works alone: nobody has its lanes
	}
	s.Was = h.Me.Device
	var key ed25519.PrivateKey
	if s.Device == "" {
		if s.Device, err = NewID(); err != nil {
			return err
		}
		if key, err = h.makeKey(s.Device); err != nil {
			return err
		}
		if err := writeSuccession(h.Dir, s); err != nil {
			return err
		}
	} else if key, err = h.readKey(s.Device); err != nil {
		return err
	}
	if s.Again, err = h.Replica.Succeed(ctx, s.Device, key); err != nil {
		return err
	}
	me := h.Me
	me.Device = s.Device
	h.Me = me
	return writeSuccession(h.Dir, s)
}

// succeed makes the home go on as another device, now.
func (h *Home) succeed(ctx context.Context, why string) error {
	if err := writeSuccession(h.Dir, Succession{Was: h.Me.Device, Why: why, At: time.Now().UTC()}); err != nil {
		return err
	}
	return h.goOn(ctx)
}

// introduce tells the server of the new device id, signed by both keys. Whoever used the device before is signed in on it.
func (h *Home) introduce(ctx context.Context, t *wire.HTTP) error {
	s, begun, err := readSuccession(h.Dir)
	if err != nil || !begun || s.Known || s.Device != h.Me.Device {
		return err
	}
	old, err := h.readKey(s.Was)
	if err != nil {
		return err
	}
	key, err := h.readKey(s.Device)
	if err != nil {
		return err
	}
	pub, _ := key.Public().(ed25519.PublicKey)
	tokens, err := t.Succeed(ctx, wire.SuccessorRequest{Device: s.Was, Next: s.Device, PublicKey: pub, Login: h.Me.Login, Key: old, NextKey: key})
	if err != nil {
		return err
	}
	if err := h.keepSignIn(s.Device, tokens); err != nil {
		return err
	}
	s.Known = true
	return writeSuccession(h.Dir, s)
}

// forked tells whether the server has seen another device with this one's id.
func forked(err error) bool {
	return errors.Is(err, replica.ErrLaneForked) || errors.Is(err, replica.ErrRunForked) || errors.Is(err, replica.ErrEntryDiffers) || errors.Is(err, replica.ErrChain)
}
