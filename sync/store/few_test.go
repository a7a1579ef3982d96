package store

import (
	"context"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/logger"

	"tacet/sync/replica"
)

// asks keeps what a database was asked.
type asks struct {
	logger.Interface
	sql []string
}

func (a *asks) Trace(_ context.Context, _ time.Time, what func() (string, int64), _ error) {
	sql, _ := what()
	a.sql = append(a.sql, sql)
}

// A page that is pulled looks for what is held, refused or lost: by an index of those, never among all entries.
func TestFewAreFoundByTheirIndex(t *testing.T) {
	s, err := Open(t.Context(), filepath.Join(t.TempDir(), "few.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for _, state := range []replica.State{replica.Held, replica.Refused, replica.ToConfirm} {
		asked := &asks{Interface: logger.Discard}
		err := s.run(t.Context(), s.read, nil, func(db *gorm.DB) error {
			x := &tx{db: db.Session(&gorm.Session{Logger: asked}), co: "0197a000-0000-7000-8000-0000000c0001"}
			_, err := x.InState(state, "0197a000-0000-7000-8000-0000000d0001", 10)
			return err
		})
		if err != nil || len(asked.sql) != 1 {
			t.Fatalf("%s: %q, %v", state, asked.sql, err)
		}
		var plan []struct{ Detail string }
		if err := s.read.Raw("EXPLAIN QUERY PLAN " + asked.sql[0]).Scan(&plan).Error; err != nil {
			t.Fatal(err)
		}
		if len(plan) == 0 || !strings.Contains(plan[0].Detail, "entry_few") {
			t.Errorf("%s: %v for %s", state, plan, asked.sql[0])
		}
	}
}
