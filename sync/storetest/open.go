// Package storetest is the contract of replica.Store as one suite, run on every store, and opens fresh stores for the
// tests of other packages.
package storetest

import (
	"context"
	"crypto/rand"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gorm.io/driver/postgres"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"

	"tacet/sync/store"
)

// SQLite opens a fresh store in a file of the test.
func SQLite(t testing.TB) *store.Store {
	t.Helper()
	return open(t, filepath.Join(t.TempDir(), "tacet.db"))
}

// Postgres opens a fresh store in a database of its own on the server that TACET_TEST_POSTGRES names. Without that
// variable the test is skipped, or fails where CI is true: there PostgreSQL is part of what is to be shown.
func Postgres(t testing.TB) *store.Store {
	t.Helper()
	return open(t, PostgresDSN(t))
}

// PostgresDSN makes a fresh database, dropped after the test, and gives its DSN.
func PostgresDSN(t testing.TB) string {
	t.Helper()
	dsn := os.Getenv("TACET_TEST_POSTGRES")
	if dsn == "" {
		if os.Getenv("CI") == "true" {
			t.Fatal("TACET_TEST_POSTGRES is not set: PostgreSQL is not tested")
		}
		t.Skip("TACET_TEST_POSTGRES is not set: PostgreSQL is not tested")
	}
	name := "tacet_test_" + strings.ToLower(rand.Text())
	run(t, dsn, "CREATE DATABASE "+name)
	t.Cleanup(func() { run(t, dsn, "DROP DATABASE "+name+" WITH (FORCE)") })
	return inDatabase(t, dsn, name)
}

func run(t testing.TB, dsn, sql string) {
	t.Helper()
	db, err := gorm.Open(postgres.Open(dsn), &gorm.Config{Logger: logger.Discard})
	if err != nil {
		t.Fatalf("open TACET_TEST_POSTGRES: %v", err)
	}
	pool, err := db.DB()
	if err != nil {
		t.Fatal(err)
	}
	defer pool.Close()
	if _, err := pool.Exec(sql); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
}

func inDatabase(t testing.TB, dsn, name string) string {
	t.Helper()
	if !strings.Contains(dsn, "://") {
		return fmt.Sprintf("%s dbname=%s", dsn, name)
	}
	u, err := url.Parse(dsn)
	if err != nil {
		t.Fatalf("TACET_TEST_POSTGRES: %v", err)
	}
	u.Path = "/" + name
	return u.String()
}

func open(t testing.TB, dsn string) *store.Store {
	t.Helper()
	s, err := store.Open(context.Background(), dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}
