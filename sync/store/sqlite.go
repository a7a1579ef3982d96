package store

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/glebarez/sqlite"
	"gorm.io/gorm"

	"tacet/jobs"
	"tacet/migrations"
	"tacet/sync/pause"
)

// DSN is how the file at path is opened. A transaction takes the write lock as it begins: one that reads first and
// locks later would be turned away at once, however long the timeout. FULL syncs every commit. What is deleted is written over,
// so that a key which was thrown away is in no free page.
func DSN(path string) string {
	return path + "?_pragma=journal_mode(WAL)&_pragma=foreign_keys(1)&_pragma=busy_timeout(5000)&_pragma=synchronous(FULL)&_pragma=secure_delete(1)&_txlock=immediate"
}

func openSQLite(ctx context.Context, path string) (*Store, error) {
	if strings.ContainsAny(path, "?#%") || strings.Contains(path, ":memory:") {
		return nil, &jobs.InputError{Field: "database", Value: path, Hint: "give the path of a file without ?, # and %"}
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	// the file holds what people recorded: for its owner alone
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	if err := f.Close(); err != nil {
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	s := &Store{dialect: migrations.SQLite}
	if s.write, err = s.openPool(sqlite.Open(DSN(path)), 1); err != nil {
		return nil, err
	}
	if err := s.upSQLite(ctx); err != nil {
		s.Close()
		return nil, known(fmt.Errorf("open %s: %w", path, err))
	}
	readers := strings.Replace(DSN(path), "&_txlock=immediate", "&_pragma=query_only(1)", 1)
	if s.read, err = s.openPool(sqlite.Open(readers), 4); err != nil {
		s.Close()
		return nil, err
	}
	if s.free, err = s.openPool(sqlite.Open(DSN(path)), 4); err != nil {
		s.Close()
		return nil, err
	}
	return s, nil
}

// upSQLite migrates. Another process that starts at the same time may have done a step between our look and our try;
// a step is one transaction, so looking again is all that is needed.
func (s *Store) upSQLite(ctx context.Context) error {
	pool, err := s.write.DB()
	if err != nil {
		return err
	}
	for try := 0; ; try++ {
		err = migrate(ctx, pool, migrations.SQLite)
		if err == nil || try == 20 {
			return err
		}
		if !pause.For(ctx, time.Duration(10*(try+1))*time.Millisecond) {
			return ctx.Err()
		}
	}
}

func (s *Store) openPool(d gorm.Dialector, conns int) (*gorm.DB, error) {
	db, err := gorm.Open(d, gormConfig())
	if err != nil {
		return nil, known(fmt.Errorf("open database: %w", err))
	}
	pool, err := db.DB()
	if err != nil {
		return nil, fmt.Errorf("open database: %w", err)
	}
	setPool(pool, conns)
	if err := s.watcher.on(db); err != nil {
		return nil, fmt.Errorf("open database: %w", err)
	}
	return db, nil
}

func setPool(pool *sql.DB, conns int) {
	pool.SetMaxOpenConns(conns)
	pool.SetMaxIdleConns(conns)
	pool.SetConnMaxIdleTime(5 * time.Minute)
}
