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

	"tacet/sync/pause"
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
	return rep, errors.Join(err, h.note(time.Now(), rep, err))
}

// busyTries is how often an exchange that met another one, of this home or at the server, is tried again at once.
const busyTries = 4

func (h *Home) exchange(ctx context.Context) (replica.Report, error) {
	t, err := h.Transport()
	if err != nil {
		return replica.Report{}, err
	}
	var all replica.Report
	if err := h.introduce(ctx, t); err != nil {
		return all, err
	}
	last, err := h.Contact()
	if err != nil {
		return all, err
	}
	h.Replica.ExpectCuts(last.BetweenCuts)
	renewed, copied := false, false
	for try := 1; ; try++ {
		rep, err := h.Replica.Sync(ctx, t)
		all.Sent, all.Received = all.Sent+rep.Sent, all.Received+rep.Received
		all.Waiting, all.Held, all.Photos, all.PhotoQuota = rep.Waiting, rep.Held, rep.Photos, max(all.PhotoQuota, rep.PhotoQuota)
		switch {
		case errors.Is(err, replica.ErrBusy) && try < busyTries:
			if !pause.For(ctx, time.Duration(try)*200*time.Millisecond) {
				return all, ctx.Err()
			}
		case errors.Is(err, replica.ErrSignIn) && !renewed && h.forgetAccess() == nil:
			renewed = true
		case forked(err) && !copied:
			copied = true
			if err := h.succeed(ctx, WhyCopied); err != nil {
				return all, err
			}
			if err := h.introduce(ctx, t); err != nil {
				return all, err
			}
		case errors.Is(err, replica.ErrRevoked):
			// what was not sent is left with the supervisor; here it stays as it is
			_, e := h.Replica.SendAside(ctx, t)
			return all, errors.Join(err, e)
		default:
			return all, err
		}
	}
}

// Contact is how the last exchange with the server went.
type Contact struct {
	Tried time.Time `json:"tried"`
	Done  time.Time `json:"done"` // the last one that went through; zero: never
	State string    `json:"state"`
	Says  string    `json:"says"`

	PhotoQuota int `json:"photo_quota,omitempty"` // per cent of the server's room for photos that are used, as it said last

	BetweenCuts int64 `json:"between_cuts,omitempty"` // bytes that come through between two cuts of the line; 0 while it has held
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
func (h *Home) note(now time.Time, rep replica.Report, failed error) error {
	c, err := h.Contact()
	if err != nil {
		return err
	}
	c.Tried, c.State, c.Says = now.UTC(), ContactDone, ""
	c.BetweenCuts = h.Replica.BetweenCuts()
	if rep.PhotoQuota > 0 {
		c.PhotoQuota = rep.PhotoQuota
	}
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
