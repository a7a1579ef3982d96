package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"

	"github.com/pressly/goose/v3"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"

	"tacet/migrations"
	"tacet/sync/replica"
)

// Store is one database. Writes have a pool of their own: a writer that waits for its turn can so never keep a reader
// from the connection that it needs.
type Store struct {
	write, read, free *gorm.DB
	dialect           string
	told              atomic.Pointer[func(co string, end int64)]
	watcher           watcher
}

var _ replica.Store = (*Store)(nil)

// Open opens the SQLite file at path, or the PostgreSQL database of a DSN, creates what is missing and brings the
// schema up to date. Several processes may do so at once.
func Open(ctx context.Context, pathOrDSN string) (*Store, error) {
	if isPostgres(pathOrDSN) {
		return openPostgres(ctx, pathOrDSN)
	}
	return openSQLite(ctx, pathOrDSN)
}

func isPostgres(dsn string) bool {
	for _, sign := range []string{"postgres://", "postgresql://", "host=", "dbname="} {
		if strings.HasPrefix(dsn, sign) || strings.Contains(dsn, " "+sign) {
			return true
		}
	}
	return false
}

// Close closes all connections.
func (s *Store) Close() error {
	var errs []error
	for _, db := range []*gorm.DB{s.write, s.read, s.free} {
		if db == nil {
			continue
		}
		pool, err := db.DB()
		if err == nil {
			err = pool.Close()
		}
		errs = append(errs, err)
	}
	return errors.Join(errs...)
}

// DB is the database for the tables of other packages, with a pool of its own. The tables of the record are written
// through Write alone.
func (s *Store) DB() *gorm.DB { return s.free }

// Dialect is migrations.SQLite or migrations.Postgres.
func (s *Store) Dialect() string { return s.dialect }

func gormConfig() *gorm.Config {
	return &gorm.Config{
		SkipDefaultTransaction: true,
		TranslateError:         true,
		CreateBatchSize:        batch,
		Logger:                 logger.Discard, // errors are returned; its own log would say them twice
	}
}

// batch is the number of rows of one INSERT: the driver of SQLite looks for each value among all of them, so that a hundred rows of the
// widest table take a third longer than forty, and a thousand more than twice as long.
const batch = 40

// asked is the number of ids, or of acts, of one query.
const asked = 100

func migrate(ctx context.Context, db *sql.DB, dialect string, with ...goose.ProviderOption) error {
	files, err := migrations.For(dialect)
	if err != nil {
		return fmt.Errorf("migrate: %w", err)
	}
	d := goose.DialectSQLite3
	if dialect == migrations.Postgres {
		d = goose.DialectPostgres
	}
	p, err := goose.NewProvider(d, db, files, with...)
	if err != nil {
		return fmt.Errorf("migrate: %w", err)
	}
	if _, err := p.Up(ctx); err != nil {
		return fmt.Errorf("migrate: %w", err)
	}
	return nil
}
