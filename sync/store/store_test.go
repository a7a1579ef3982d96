package store_test

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/storetest"
)

func TestSQLite(t *testing.T) {
	storetest.Run(t, func(t testing.TB) replica.Store { return storetest.SQLite(t) })
}

func TestPostgres(t *testing.T) {
	storetest.PostgresDSN(t) // skips once, not in every part
	storetest.Run(t, func(t testing.TB) replica.Store { return storetest.Postgres(t) })
}

func each(t *testing.T, f func(*testing.T, *store.Store)) {
	t.Run("sqlite", func(t *testing.T) { f(t, storetest.SQLite(t)) })
	t.Run("postgres", func(t *testing.T) { f(t, storetest.Postgres(t)) })
}

// The schema itself keeps the record, whatever the program does.
func TestRecordIsKept(t *testing.T) {
	each(t, func(t *testing.T, s *store.Store) {
		e := storetest.Entry(t, storetest.Company, storetest.Job, storetest.Dev, 1, [32]byte{})
		err := s.Write(context.Background(), storetest.Company, func(tx replica.Tx) error {
			if err := tx.Insert([]replica.Stored{{Entry: e, State: replica.Unsent, At: 1}}); err != nil {
				return err
			}
			return tx.Log([]replica.Act{{N: 1, Act: replica.ActStand, H: e.Hash, Job: e.Job}})
		})
		if err != nil {
			t.Fatal(err)
		}
		for _, sql := range []string{
			"DELETE FROM entry",
			"DELETE FROM log",
			"UPDATE log SET act = 'hold'",
			"UPDATE entry SET env = body",
			"UPDATE entry SET seq = 2, run = 2",
			"UPDATE entry SET kind = 'check'",
		} {
			if err := s.DB().Exec(sql).Error; err == nil {
				t.Errorf("%s: was done", sql)
			}
		}
		body := fmt.Sprintf("UPDATE entry SET body = env WHERE len = %d", e.Len)
		if err := s.DB().Exec(body).Error; err == nil {
			t.Error("a body was replaced")
		}
		if err := s.DB().Exec("UPDATE entry SET body = NULL").Error; err != nil {
			t.Errorf("a body can't be erased: %v", err)
		}
		if err := s.DB().Exec("UPDATE entry SET body = env").Error; err == nil {
			t.Error("a body of another length was put in")
		}
	})
}

func TestHashesHave32Bytes(t *testing.T) {
	each(t, func(t *testing.T, s *store.Store) {
		err := s.DB().Exec("INSERT INTO blob (co, job, h, size, here, sent) VALUES (?, ?, ?, 1, 0, 0)", storetest.Company, storetest.Job, []byte("short")).Error
		if err == nil {
			t.Error("a hash of 5 bytes was kept")
		}
	})
}

// Several processes start at once: all find the schema, one has made it.
func TestOpenAtOnce(t *testing.T) {
	for name, dsn := range map[string]func(*testing.T) string{
		"sqlite":   func(t *testing.T) string { return filepath.Join(t.TempDir(), "tacet.db") },
		"postgres": func(t *testing.T) string { return storetest.PostgresDSN(t) },
	} {
		t.Run(name, func(t *testing.T) {
			at := dsn(t)
			var wg sync.WaitGroup
			for range 6 {
				wg.Go(func() {
					s, err := store.Open(context.Background(), at)
					if err != nil {
						t.Error(err)
						return
					}
					if err := s.Close(); err != nil {
						t.Error(err)
					}
				})
			}
			wg.Wait()
		})
	}
}

func TestSQLiteSettings(t *testing.T) {
	s := storetest.SQLite(t)
	for pragma, want := range map[string]string{"journal_mode": "wal", "foreign_keys": "1", "busy_timeout": "5000", "synchronous": "2"} {
		var got string
		if err := s.DB().Raw("PRAGMA " + pragma).Scan(&got).Error; err != nil || got != want {
			t.Errorf("%s is %q, not %q: %v", pragma, got, want, err)
		}
	}
	var version string
	if err := s.DB().Raw("SELECT sqlite_version()").Scan(&version).Error; err != nil {
		t.Fatal(err)
	}
	// an old driver on a new library stores a nil []byte as an empty blob; both come together by the pin in go.mod
	if strings.HasPrefix(version, "3.41.") {
		t.Errorf("SQLite %s: the driver's pin is gone", version)
	}
	var kind string
	if err := s.DB().Raw("SELECT typeof(?)", []byte(nil)).Scan(&kind).Error; err != nil || kind != "null" {
		t.Errorf("a nil []byte is stored as %s: %v", kind, err)
	}
}

func TestOpenRefusesOddPaths(t *testing.T) {
	for _, path := range []string{"x?mode=memory", ":memory:", "a#b"} {
		if s, err := store.Open(context.Background(), path); err == nil {
			s.Close()
			t.Errorf("%q was opened", path)
		}
	}
}
