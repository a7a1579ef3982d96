package store

import (
	"context"
	"database/sql"
	"fmt"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"tacet/migrations"
	"tacet/sync/replica"
)

// tx is a transaction in one company.
type tx struct {
	db *gorm.DB
	co string

	changed bool  // something that others see
	end     int64 // of the company's log, where it moved
}

var _ replica.Tx = (*tx)(nil)

// of ties a query to a company: the only way by which the tables of the record are read. An empty company would read
// everybody's rows, so it is an error.
func (t *tx) of() *gorm.DB {
	if t.co == "" {
		db := t.db.Session(&gorm.Session{})
		_ = db.AddError(errNoCompany) // returned by whatever the caller does next
		return db
	}
	return t.db.Where("co = ?", t.co)
}

// Of is the same transaction in another company.
func (t *tx) Of(co string) (replica.Tx, error) {
	if co == "" {
		return nil, errNoCompany
	}
	// From here on the transaction works in two companies, so the wall of PostgreSQL stands open for it.
	if err := speakFor(t.db, everyone); err != nil {
		return nil, err
	}
	return &tx{db: t.db, co: co}, nil
}

// Read gives f one snapshot.
func (s *Store) Read(ctx context.Context, co string, f func(replica.Tx) error) error {
	if co == "" {
		return errNoCompany
	}
	var opts *sql.TxOptions
	if s.dialect == migrations.Postgres {
		opts = &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true}
	}
	return s.run(ctx, s.read, opts, func(db *gorm.DB) error {
		if err := speakFor(db, co); err != nil {
			return err
		}
		return f(&tx{db: db, co: co})
	})
}

// Write gives f the company's lock until the commit.
func (s *Store) Write(ctx context.Context, co string, f func(replica.Tx) error) error {
	if co == "" {
		return errNoCompany
	}
	var opts *sql.TxOptions
	if s.dialect == migrations.Postgres {
		// each statement sees what the last holder of the lock committed; a stricter level would fail there
		opts = &sql.TxOptions{Isolation: sql.LevelReadCommitted}
	}
	var t *tx
	err := s.run(ctx, s.write, opts, func(db *gorm.DB) error {
		if s.dialect == migrations.Postgres {
			if err := lockCompany(db, co); err != nil {
				return err
			}
		}
		t = &tx{db: db, co: co}
		return f(t)
	})
	if err == nil && t.changed {
		if tell := s.told.Load(); tell != nil {
			(*tell)(co, t.end)
		}
	}
	return err
}

// OnCommit has tell called after each commit that changed what others see of a company's record, with the end of its log,
// or 0 on a device, which has none. It must return at once: the one who wrote waits for it.
func (s *Store) OnCommit(tell func(co string, end int64)) { s.told.Store(&tell) }

// everyone is the company of what looks over all companies.
const everyone = "*"

// speakFor tells PostgreSQL for which company the transaction speaks: its row-level security shows it the rows of no other,
// whatever a query forgets. SQLite has no such wall.
func speakFor(db *gorm.DB, co string) error {
	if db.Name() != migrations.Postgres {
		return nil
	}
	return db.Exec("SELECT set_config('tacet.co', ?, true)", co).Error
}

// lockCompany takes the row of the company for update. On SQLite the transaction itself is the lock. A process that
// freezes while it holds a company loses the connection, and with it the lock, after ten seconds.
func lockCompany(db *gorm.DB, co string) error {
	err := db.Exec("SELECT set_config('tacet.co', ?, true), set_config('lock_timeout', '3s', true), set_config('idle_in_transaction_session_timeout', '10s', true)", co).Error
	if err != nil {
		return err
	}
	fresh := seqRow{Co: co, Head: make([]byte, 32)}
	if err := db.Clauses(clause.OnConflict{DoNothing: true}).Create(&fresh).Error; err != nil {
		return err
	}
	var row seqRow
	return db.Clauses(clause.Locking{Strength: "UPDATE"}).Where("co = ?", co).Take(&row).Error
}

// run is one transaction. An error of f comes back unchanged, one of the database as a sentinel where it has one. A
// panic in f takes everything back too and goes on.
func (s *Store) run(ctx context.Context, pool *gorm.DB, opts *sql.TxOptions, f func(*gorm.DB) error) error {
	db := pool.WithContext(ctx).Begin(opts)
	if db.Error != nil {
		return known(fmt.Errorf("begin: %w", db.Error))
	}
	done := false
	defer func() {
		if !done {
			db.Rollback()
		}
	}()
	if err := f(db); err != nil {
		return known(err)
	}
	done = true
	if err := db.Commit().Error; err != nil {
		return known(fmt.Errorf("commit: %w", err))
	}
	return nil
}

// Companies lists the companies that have a record here.
func (s *Store) Companies(ctx context.Context) ([]string, error) {
	var cos []string
	err := s.run(ctx, s.read, nil, func(db *gorm.DB) error {
		if err := speakFor(db, everyone); err != nil {
			return err
		}
		return db.Raw("SELECT co FROM company_seq UNION SELECT co FROM me UNION SELECT co FROM digest ORDER BY co").Scan(&cos).Error
	})
	return cos, err
}
