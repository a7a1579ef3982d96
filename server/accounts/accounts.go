package accounts

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/alexedwards/argon2id"
	"github.com/google/uuid"
	"gorm.io/gorm"

	"tacet/jobs"
	"tacet/sync/replica"
)

// Accounts is the door to everything here. It is safe for use by many goroutines, and by several servers on one database.
type Accounts struct {
	db     *gorm.DB
	record replica.Store
	keys   Keys
	now    func() time.Time
	rand   io.Reader
	turns  chan struct{} // one place for each password hash that may run now
	nobody string        // the hash that a login nobody has is compared with
}

// Config is what Accounts needs. Now and Rand may be left out.
type Config struct {
	DB     *gorm.DB
	Record replica.Store // in the same database
	Keys   Keys
	Now    func() time.Time
	Rand   io.Reader
}

// Who is the person behind a request, as the database has them at this moment.
type Who struct {
	Company string
	Person  string
	Login   string
	Name    string
	Role    jobs.Role
	Device  string            // empty for a browser
	Key     ed25519.PublicKey // of the device
}

// Author is what Who records as.
func (w Who) Author() jobs.Author { return jobs.Author{Person: w.Person, Role: w.Role} }

// New returns the accounts in a database whose migrations have run.
func New(c Config) (*Accounts, error) {
	a := &Accounts{db: c.DB, record: c.Record, keys: c.Keys, now: c.Now, rand: c.Rand, turns: make(chan struct{}, hashesAtOnce)}
	if a.now == nil {
		a.now = time.Now
	}
	if a.rand == nil {
		a.rand = rand.Reader
	}
	secret, err := a.secret()
	if err != nil {
		return nil, err
	}
	if a.nobody, err = argon2id.CreateHash(secret, kdf); err != nil {
		return nil, fmt.Errorf("make a hash to compare with: %w", err)
	}
	return a, nil
}

// Keys returns the server's keys.
func (a *Accounts) Keys() Keys { return a.keys }

func (a *Accounts) ms() int64 { return a.now().UnixMilli() }

// of returns a query within one company. Everything that knows the company starts here; an empty id fails instead of meaning all.
func (a *Accounts) of(tx *gorm.DB, co string) *gorm.DB {
	if co == "" {
		tx = tx.Session(&gorm.Session{})
		_ = tx.AddError(errors.New("a query names no company")) // the error stays in tx and every use returns it
		return tx
	}
	return tx.Where("co = ?", co)
}

// write runs f in one transaction.
func (a *Accounts) write(ctx context.Context, f func(tx *gorm.DB) error) error {
	return a.db.WithContext(ctx).Transaction(f)
}

func newID() (string, error) {
	id, err := uuid.NewV7()
	if err != nil {
		return "", fmt.Errorf("draw an id: %w", err)
	}
	return id.String(), nil
}
