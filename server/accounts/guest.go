package accounts

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"gorm.io/gorm"

	"tacet/acoustics"
	"tacet/jobs"
)

// How long a guest's link is good for: a month covers an inspection and its answer; a year is the most.
const (
	GuestLife    = 30 * 24 * time.Hour
	MaxGuestLife = 365 * 24 * time.Hour

	// keepGuests is how long a link that has ended is still listed.
	keepGuests = 90 * 24 * time.Hour
)

// Guest is a link with which somebody from outside, such as building control or the client, sees one job and nothing else, and records
// nothing.
type Guest struct {
	ID    string
	Job   string
	Name  string // whom it was made for
	By    string // person who made it
	Made  time.Time
	Until time.Time
	Ended bool
	Seen  time.Time // last used; zero: never
}

// AddGuest makes a link for a job of the company of w. The secret is returned here and never again; the link ends by itself, or by EndGuest.
func (a *Accounts) AddGuest(ctx context.Context, w Who, job, name string, life time.Duration) (secret string, err error) {
	if life < time.Hour || life > MaxGuestLife {
		return "", &acoustics.InputError{Field: "days", Value: life.String(), Range: "1 to 365", Unit: "days"}
	}
	if name, err = label("name", name); err != nil {
		return "", err
	}
	id, err := newID()
	if err != nil {
		return "", err
	}
	if secret, err = a.secret(); err != nil {
		return "", err
	}
	secret = w.Company + "." + secret
	now := a.now()
	row := guestRow{Co: w.Company, Guest: id, Hash: secretHash(secret), Job: job, Name: name, MadeBy: w.Person, MadeMS: now.UnixMilli(), UntilMS: now.Add(life).UnixMilli()}
	if err := a.write(ctx, w.Company, func(tx *gorm.DB) error { return tx.Create(&row).Error }); err != nil {
		return "", fmt.Errorf("keep link: %w", err)
	}
	return secret, nil
}

// Guests lists the links of a company, the latest first.
func (a *Accounts) Guests(ctx context.Context, co string) ([]Guest, error) {
	var rows []guestRow
	err := a.read(ctx, co, func(tx *gorm.DB) error { return a.of(tx, co).Order("made_ms DESC, guest").Find(&rows).Error })
	if err != nil {
		return nil, fmt.Errorf("list guests: %w", err)
	}
	list := make([]Guest, len(rows))
	for i, r := range rows {
		list[i] = Guest{ID: r.Guest, Job: r.Job, Name: r.Name, By: r.MadeBy, Made: time.UnixMilli(r.MadeMS), Until: time.UnixMilli(r.UntilMS),
			Ended: r.EndedMS != nil || a.ms() >= r.UntilMS}
		if r.SeenMS != nil {
			list[i].Seen = time.UnixMilli(*r.SeenMS)
		}
	}
	return list, nil
}

// EndGuest ends a link at once.
func (a *Accounts) EndGuest(ctx context.Context, co, id string) error {
	return a.write(ctx, co, func(tx *gorm.DB) error {
		r := a.of(tx, co).Model(&guestRow{}).Where("guest = ? AND ended_ms IS NULL", id).Update("ended_ms", a.ms())
		if r.Error != nil {
			return fmt.Errorf("end link: %w", r.Error)
		}
		if r.RowsAffected == 0 {
			return fmt.Errorf("link %s: %w", id, jobs.ErrNotFound)
		}
		return nil
	})
}

// Invited is what a guest's secret opens: one job of one company.
type Invited struct {
	Company string
	Guest   Guest
}

// Guest tells what a secret opens now.
func (a *Accounts) Guest(ctx context.Context, secret string) (Invited, error) {
	co, _, ok := strings.Cut(secret, ".")
	if !ok || co == "" || co == everyone || len(secret) > 200 {
		return Invited{}, signInNeeded("not a guest")
	}
	var row guestRow
	err := a.read(ctx, co, func(tx *gorm.DB) error {
		err := a.of(tx, co).Where("hash = ?", secretHash(secret)).Take(&row).Error
		if err != nil {
			return err
		}
		now := a.ms()
		if row.EndedMS != nil || now >= row.UntilMS || row.SeenMS != nil && now-*row.SeenMS < browserTouch.Milliseconds() {
			return nil
		}
		return a.of(tx, co).Model(&guestRow{}).Where("guest = ?", row.Guest).Update("seen_ms", now).Error
	})
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return Invited{}, signInNeeded("not a guest")
	}
	if err != nil {
		return Invited{}, fmt.Errorf("look for guest: %w", err)
	}
	if row.EndedMS != nil || a.ms() >= row.UntilMS {
		return Invited{}, signInNeeded("this link has ended; ask for a new one")
	}
	return Invited{Company: co, Guest: Guest{ID: row.Guest, Job: row.Job, Name: row.Name, Until: time.UnixMilli(row.UntilMS)}}, nil
}
