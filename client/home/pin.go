package home

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/alexedwards/argon2id"

	"tacet/jobs"
	"tacet/sync/replica"
)

// A device that a crew shares is handed on many times a day, and there is no signal to ask a server who holds it. Each of its people has
// a PIN on it; the pages then open for whoever gave theirs, and what is recorded there is theirs. As soon as one person has a PIN, the
// device is shared. The file holds a slow hash of each PIN and how often it was tried, never a PIN; whoever has the file and weeks can
// find one out, because a PIN is short: it keeps colleagues apart, and thieves out for a while.

// Holder is somebody who has a PIN on this device.
type Holder struct {
	Person string    `json:"person"`
	Login  string    `json:"login"`
	Role   jobs.Role `json:"role"`
}

type pin struct {
	Holder
	Hash     string    `json:"hash"`
	Failures int       `json:"failures"`
	Next     time.Time `json:"next"` // no try counts before
}

// Limits of a PIN, and of tries: freeTries cost nothing, then each waits twice as long as the one before.
const (
	minPin, maxPin = 6, 12
	freeTries      = 3
	firstWait      = 2 * time.Second
	longestWait    = 20 * time.Minute
)

// pinKDF is slow on purpose: about as much as a password costs on a server.
var pinKDF = &argon2id.Params{Memory: 19 << 10, Iterations: 2, Parallelism: 1, SaltLength: 16, KeyLength: 32}

func (h *Home) pinPath() string { return filepath.Join(h.Dir, "pins.json") }

func (h *Home) readPins() (map[string]pin, error) {
	pins := map[string]pin{}
	data, err := os.ReadFile(h.pinPath())
	if errors.Is(err, fs.ErrNotExist) {
		return pins, nil
	}
	if err == nil {
		err = json.Unmarshal(data, &pins)
	}
	if err != nil {
		return nil, fmt.Errorf("read the PINs of this device: %w", err) // never as if there were none
	}
	return pins, nil
}

func (h *Home) keepPins(pins map[string]pin) error {
	data, err := json.Marshal(pins)
	if err != nil {
		return fmt.Errorf("keep the PINs of this device: %w", err)
	}
	return writeFile(h.pinPath(), append(data, '\n'))
}

// Shared tells whether people have PINs on this device.
func (h *Home) Shared() (bool, error) {
	pins, err := h.readPins()
	return len(pins) > 0, err
}

// SetPin gives the person who is signed in here a PIN.
func (h *Home) SetPin(ctx context.Context, text string) error {
	if strings.Trim(text, "0123456789") != "" || len(text) < minPin || len(text) > maxPin {
		return &jobs.InputError{Field: "pin", Value: fmt.Sprintf("%d characters long", len(text)), Range: fmt.Sprintf("%d to %d", minPin, maxPin), Unit: "digits"}
	}
	if strings.Contains("01234567890123456789", text) || strings.Contains("98765432109876543210", text) || len(strings.Trim(text, text[:1])) == 0 {
		return &jobs.InputError{Field: "pin", Value: "one that is guessed early", Hint: "no run and no repetition"}
	}
	me, err := h.Store.Active(ctx)
	if err != nil {
		return err
	}
	if me.Login == "" {
		return replica.ErrNotEnrolled
	}
	pins, err := h.readPins()
	if err != nil {
		return err
	}
	hash, err := argon2id.CreateHash(text, pinKDF)
	if err != nil {
		return fmt.Errorf("hash the PIN: %w", err)
	}
	pins[me.Login] = pin{Holder: Holder{Person: me.Person, Login: me.Login, Role: me.Role}, Hash: hash}
	return h.keepPins(pins)
}

// DropPins makes the device one that is not shared.
func (h *Home) DropPins() error {
	err := os.Remove(h.pinPath())
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

// Unlock tells who gave their PIN. A try is counted before it is made, on the disk, so that nothing is won by stopping the program; a right
// one after the wait always works.
func (h *Home) Unlock(login, text string, now time.Time) (Holder, error) {
	pins, err := h.readPins()
	if err != nil {
		return Holder{}, err
	}
	login = strings.ToLower(strings.TrimSpace(login))
	p, known := pins[login]
	if !known {
		p.Hash = nobodysPin()
	} else {
		if wait := p.Next.Sub(now); wait > 0 {
			return Holder{}, &replica.Refusal{Err: replica.ErrSlowDown, RetryAfter: wait, Says: "try again in " + wait.Round(time.Second).String()}
		}
		p.Failures++
		p.Next = now.Add(waitAfter(p.Failures))
		pins[login] = p
		if err := h.keepPins(pins); err != nil {
			return Holder{}, err
		}
	}
	ok, err := argon2id.ComparePasswordAndHash(text, p.Hash)
	if err != nil {
		return Holder{}, fmt.Errorf("compare the PIN: %w", err)
	}
	if !ok || !known {
		return Holder{}, &replica.Refusal{Err: replica.ErrSignIn, Says: "login or PIN is wrong"}
	}
	p.Failures, p.Next = 0, time.Time{}
	pins[login] = p
	return p.Holder, h.keepPins(pins)
}

func waitAfter(failures int) time.Duration {
	if failures <= freeTries {
		return 0
	}
	d := firstWait
	for range failures - freeTries - 1 {
		if d *= 2; d >= longestWait {
			return longestWait
		}
	}
	return d
}

// nobodysPin takes as long to compare with as anybody's.
func nobodysPin() string {
	hash, err := argon2id.CreateHash(rand.Text(), pinKDF)
	if err != nil {
		return ""
	}
	return hash
}
