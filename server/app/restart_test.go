package app_test

import (
	"database/sql"
	"fmt"
	"os"
	"strconv"
	"sync"
	"testing"
	"time"

	"tacet/server/app"
	"tacet/sync/storetest"
)

// The database goes down at once in the middle of pushes, as when its machine does, and comes back: devices are told "later" at worst,
// nothing that was confirmed is lost, nothing is there twice. TACET_RESTARTS gives the number.
func TestDatabaseRestarts(t *testing.T) {
	n := 3
	if s := os.Getenv("TACET_RESTARTS"); s != "" {
		var err error
		if n, err = strconv.Atoi(s); err != nil {
			t.Fatal(err)
		}
	} else if testing.Short() {
		t.Skip("short")
	}
	c := newCluster(t, "r")
	c.must("initdb", "-D", c.data(), "-U", "tacet", "-A", "trust", "-E", "UTF8", "--no-sync")
	c.start("-c fsync=off")
	w := newWorld(t, app.Folder{Dir: t.TempDir(), Database: fmt.Sprintf("host=%s user=tacet dbname=postgres sslmode=disable", c.dir)})
	l := w.underLoad(3)
	for i := range n {
		before := l.count()
		waitFor(t, "entries before the database goes", func() bool { return l.count() >= before+8+i%5 })
		c.must("pg_ctl", "-D", c.data(), "-w", "-m", "immediate", "stop")
		c.start("-c fsync=off")
	}
	before := l.count()
	waitFor(t, "entries after the last restart", func() bool { return l.count() >= before+8 })
	kept, longest := l.end()
	t.Logf("evidence: %d restarts, %d entries confirmed, none lost, none twice; longest time without an answer %s", n, kept, longest.Round(10*time.Millisecond))
}

// Twenty servers that start at once on an empty database and one empty folder bring the schema up once, and are one server: the same
// keys, the same id.
func TestTwentyServersStartAtOnce(t *testing.T) {
	folder := app.Folder{Dir: t.TempDir(), Database: storetest.PostgresDSN(t)}
	const servers = 20
	running := make([]*app.Running, servers)
	var wg sync.WaitGroup
	for i := range running {
		wg.Go(func() {
			s, err := app.Start(t.Context(), app.Config{Folder: folder, Listen: "127.0.0.1:0"})
			if err != nil {
				t.Errorf("server %d: %v", i, err)
				return
			}
			running[i] = s
		})
	}
	wg.Wait()
	for _, s := range running {
		if s != nil {
			defer func() {
				if err := s.Stop(); err != nil {
					t.Error(err)
				}
			}()
		}
	}
	if t.Failed() {
		return
	}
	db, err := sql.Open("pgx", folder.Database)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var steps, versions int
	if err := db.QueryRow("SELECT COUNT(*), COUNT(DISTINCT version_id) FROM goose_db_version").Scan(&steps, &versions); err != nil || steps != versions || steps < 2 {
		t.Errorf("%d migrations done in %d steps, %v", versions, steps, err)
	}
	for i, s := range running {
		if s.Replica.DeviceID() != running[0].Replica.DeviceID() {
			t.Errorf("server %d is another than server 0", i)
		}
	}
}
