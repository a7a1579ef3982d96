package accounts

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"sync/atomic"
	"time"

	"github.com/alexedwards/argon2id"
	"github.com/google/uuid"
	"gorm.io/gorm"

	"tacet/jobs"
	"tacet/sync/replica"
)

// Accounts is the door to everything here. It is safe for use by many goroutines, and by several servers on one database.
type Accounts struct {
	db      *gorm.DB
	record  replica.Store
	ledger  Ledger                        // nil for none
	erasing func(co, person string) error // nil for none
	held    atomic.Pointer[Keys]
	looked  atomic.Int64 // when the keys were last read anew, in milliseconds
	now     func() time.Time
	rand    io.Reader
	turns   chan struct{} // one place for each password hash that may run now
	nobody  string        // the hash that a login nobody has is compared with
}

// Config is what Accounts needs. Now and Rand may be left out.
type Config struct {
	DB      *gorm.DB
	Record  replica.Store // in the same database
	Keys    Keys
	Ledger  Ledger                        // keeps what is said about access outside the database; nil for none
	Erasing func(co, person string) error // writes down outside the database who is about to be erased; nil for none
	Now     func() time.Time
	Rand    io.Reader
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
	Factor  bool              // whether a second factor is set up

	gen int64 // number of the person's password
}

// Author is what Who records as.
func (w Who) Author() jobs.Author { return jobs.Author{Person: w.Person, Role: w.Role} }

// New returns the accounts in a database whose migrations have run.
func New(c Config) (*Accounts, error) {
	a := &Accounts{db: c.DB, record: c.Record, ledger: c.Ledger, erasing: c.Erasing, now: c.Now, rand: c.Rand, turns: make(chan struct{}, hashesAtOnce)}
	a.held.Store(&c.Keys)
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
func (a *Accounts) Keys() Keys { return *a.held.Load() }

func (a *Accounts) ms() int64 { return a.now().UnixMilli() }

// of returns a query within one company. Everything that knows the company starts here; an empty id fails instead of meaning all.
func (a *Accounts) of(tx *gorm.DB, co string) *gorm.DB {
	if co == "" {
		tx = tx.Session(&gorm.Session{})
		_ = tx.AddError(errNoCompany) // the error stays in tx and every use returns it
		return tx
	}
	return tx.Where("co = ?", co)
}

// everyone is the company of the few queries that look over all companies, or for the company that something belongs to.
const everyone = "*"

// write runs f in one transaction that speaks for the company co.
func (a *Accounts) write(ctx context.Context, co string, f func(tx *gorm.DB) error) error {
	return a.db.WithContext(ctx).Transaction(func(tx *gorm.DB) error {
		if err := a.speakFor(tx, co); err != nil {
			return err
		}
		return f(tx)
	})
}

// read runs f where it sees the rows of the company co. SQLite needs no transaction for that, and one would wait for the writer.
func (a *Accounts) read(ctx context.Context, co string, f func(tx *gorm.DB) error) error {
	if a.db.Name() != postgres {
		if co == "" {
			return errNoCompany
		}
		return f(a.db.WithContext(ctx))
	}
	return a.write(ctx, co, f)
}

// speakFor tells PostgreSQL for which company a transaction speaks from here on; its row-level security shows it no others. It is the
// second wall: of is the first, on both databases.
func (a *Accounts) speakFor(tx *gorm.DB, co string) error {
	if co == "" {
		return errNoCompany
	}
	if tx.Name() != postgres {
		return nil
	}
	if err := tx.Exec("SELECT set_config('tacet.co', ?, true)", co).Error; err != nil {
		return fmt.Errorf("speak for company %s: %w", co, err)
	}
	return nil
}

// postgres is gorm's name of that database.
const postgres = "postgres"

var errNoCompany = errors.New("a query names no company")

func newID() (string, error) {
	id, err := uuid.NewV7()
	if err != nil {
		return "", fmt.Errorf("draw an id: %w", err)
	}
	return id.String(), nil
}
