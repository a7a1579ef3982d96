package home

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"tacet/sync/replica"
)

// Sync sends and fetches once, and notes how that went. What the report says is right also where an error cut the
// exchange short.
func (h *Home) Sync(ctx context.Context) (replica.Report, error) {
	h.exchanging.Lock()
	defer h.exchanging.Unlock()
	rep, err := h.exchange(ctx)
	if errors.Is(err, replica.ErrNotEnrolled) || ctx.Err() != nil {
		return rep, err // nobody was asked, or a person stopped it
	}
	return rep, errors.Join(err, h.note(time.Now(), err))
}

func (h *Home) exchange(ctx context.Context) (replica.Report, error) {
	t, err := h.Transport()
	if err != nil {
		return replica.Report{}, err
	}
	rep, err := h.Replica.Sync(ctx, t)
	if !errors.Is(err, replica.ErrSignIn) {
		return rep, err
	}
	if h.forgetAccess() != nil {
		return rep, err // there is no sign-in to renew: err says so
	}
	again, err := h.Replica.Sync(ctx, t)
	again.Sent, again.Received = again.Sent+rep.Sent, again.Received+rep.Received
	return again, err
}

// Contact is how the last exchange with the server went.
type Contact struct {
	Tried time.Time `json:"tried"`
	Done  time.Time `json:"done"` // the last one that went through; zero: never
	State string    `json:"state"`
	Says  string    `json:"says"`
}

func (h *Home) contactPath() string { return filepath.Join(h.Dir, "last-sync.json") }

// Contact reads how the last exchange went, whichever process made it.
func (h *Home) Contact() (c Contact, err error) {
	data, err := os.ReadFile(h.contactPath())
	if errors.Is(err, fs.ErrNotExist) {
		return c, nil
	}
	if err != nil {
		return c, fmt.Errorf("read the last exchange: %w", err)
	}
	if err := json.Unmarshal(data, &c); err != nil {
		return Contact{}, nil // a note for people, made anew by the next exchange
	}
	return c, nil
}

// The states of a contact.
const (
	ContactDone    = "done"
	ContactOffline = "offline"
	ContactSignIn  = "sign_in"
	ContactRevoked = "revoked"
	ContactOld     = "old"
	ContactTrouble = "trouble"
)

// note keeps how an exchange went, for every other process of this home.
func (h *Home) note(now time.Time, failed error) error {
	c, err := h.Contact()
	if err != nil {
		return err
	}
	c.Tried, c.State, c.Says = now.UTC(), ContactDone, ""
	switch {
	case failed == nil:
		c.Done = c.Tried
	case errors.Is(failed, replica.ErrUnreachable):
		c.State = ContactOffline
	case errors.Is(failed, replica.ErrSignIn):
		c.State = ContactSignIn
	case errors.Is(failed, replica.ErrRevoked):
		c.State = ContactRevoked
	case errors.Is(failed, replica.ErrTooOld):
		c.State = ContactOld
	default:
		c.State, c.Says = ContactTrouble, failed.Error()
	}
	data, err := json.Marshal(c)
	if err != nil {
		return fmt.Errorf("note the exchange: %w", err)
	}
	return writeFile(h.contactPath(), append(data, '\n'))
}
