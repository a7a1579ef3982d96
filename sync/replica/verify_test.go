package replica_test

import (
	"errors"
	"os"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/storetest"
)

// Whoever opens the file with another program and changes what was recorded is found out, and the entry is named.
func TestVerifyFindsChanges(t *testing.T) {
	lift := []string{"DROP TRIGGER entry_no_change", "DROP TRIGGER entry_no_delete"}
	for name, c := range map[string]struct {
		sql  string
		says string
	}{
		"a body":               {`UPDATE entry SET body = CAST(replace(CAST(body AS TEXT), '12.6', '16.2') AS BLOB) WHERE kind = 'install'`, "place 4"},
		"an envelope":          {`UPDATE entry SET env = CAST(replace(CAST(env AS TEXT), '"layer":2', '"layer":3') AS BLOB) WHERE kind = 'install'`, "place 4"},
		"an envelope and hash": {`UPDATE entry SET env = (SELECT env FROM entry WHERE kind = 'job'), h = (SELECT h FROM entry WHERE kind = 'job') WHERE kind = 'install'`, ""},
		"the last removed":     {`DELETE FROM entry WHERE seq = 5`, "the sealed entry is missing"},
		"one removed":          {`DELETE FROM entry WHERE seq = 4`, "place 4 is missing"},
		"a seal":               {`UPDATE seal SET sig = zeroblob(64)`, "signature"},
		"a receipt":            {`UPDATE seal SET receipt = zeroblob(64)`, "receipt"},
	} {
		t.Run(name, func(t *testing.T) {
			w := newWorld(t, storetest.SQLite(t))
			w.tampered = true
			a := w.join(1, jobs.Supervisor)
			a.importHouse()
			a.record(`{"do":"install","surface":"C1","layer":2,"share":1,"mass_kg_m2":12.6}`, note("last"))
			a.sync()
			if err := a.Verify(ctx, company, jobID); err != nil {
				t.Fatal(err)
			}
			db := a.store.(*store.Store).DB()
			for _, sql := range append(lift, "PRAGMA foreign_keys = 0", c.sql) {
				if err := db.Exec(sql).Error; err != nil {
					if c.says == "" {
						return // the schema already refuses it
					}
					t.Fatalf("%s: %v", sql, err)
				}
			}
			err := a.Verify(ctx, company, jobID)
			if !errors.Is(err, replica.ErrBroken) || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v", err)
			}
		})
	}
}

func TestVerifyLogFindsChanges(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	w.tampered = true
	a := w.join(1, jobs.Supervisor)
	a.importHouse()
	a.sync()
	db := w.store.(*store.Store).DB()
	for _, sql := range []string{"DROP TRIGGER log_no_change", "UPDATE log SET act = 'hold' WHERE n = 2"} {
		if err := db.Exec(sql).Error; err != nil {
			t.Fatal(err)
		}
	}
	if _, err := w.server.VerifyLog(ctx, company); !errors.Is(err, replica.ErrBroken) || !strings.Contains(err.Error(), "act 2") {
		t.Errorf("got %v", err)
	}
}

func readFile(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func writeFile(t *testing.T, path string, data []byte) {
	t.Helper()
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
}
