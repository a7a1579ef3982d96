package replica_test

import (
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/storetest"
)

// mutations are what somebody with the database file and another program can do to old entries and to what proves them. %[1]d and
// %[2]d are the rowids of two entries, %[3]d is a number, %[4]d a place in the bytes.
var mutations = map[string][]string{
	"a byte of an envelope":    {"UPDATE entry SET env = CAST(substr(env, 1, %[4]d) || char(33 + %[3]d) || substr(env, %[4]d + 2) AS BLOB) WHERE rowid = %[1]d"},
	"a byte of a body":         {"UPDATE entry SET body = CAST(substr(body, 1, %[4]d %% len) || char(33 + %[3]d) || substr(body, %[4]d %% len + 2) AS BLOB) WHERE rowid = %[1]d"},
	"a hash":                   {"UPDATE entry SET h = CAST(substr(h, 1, 31) || char(33 + %[3]d) AS BLOB) WHERE rowid = %[1]d"},
	"an entry removed":         {"DELETE FROM entry WHERE rowid = %[1]d"},
	"a lane's end removed":     {"DELETE FROM entry WHERE rowid >= %[1]d"},
	"two bodies swapped":       {"CREATE TEMP TABLE x AS SELECT body, len FROM entry WHERE rowid = %[1]d", "UPDATE entry SET (body, len) = (SELECT body, len FROM entry WHERE rowid = %[2]d) WHERE rowid = %[1]d", "UPDATE entry SET (body, len) = (SELECT body, len FROM x) WHERE rowid = %[2]d", "DROP TABLE x"},
	"two places moved":         {"UPDATE entry SET seq = seq + 1000, run = run + 1000 WHERE rowid IN (%[1]d, %[2]d)"},
	"filed under another job":  {"UPDATE entry SET job = '01900000-0000-7000-8000-00000000a009' WHERE rowid = %[1]d"},
	"filed under another kind": {"UPDATE entry SET kind = 'audit' WHERE rowid = %[1]d"},
	"another state":            {"UPDATE entry SET state = 'refused' WHERE rowid = %[1]d"},
	"a seal's signature":       {"UPDATE seal SET sig = CAST(substr(sig, 1, 63) || char(33 + %[3]d) AS BLOB)"},
	"a seal on another entry":  {"UPDATE seal SET h = (SELECT h FROM entry WHERE rowid = %[1]d) WHERE h <> (SELECT h FROM entry WHERE rowid = %[1]d)"},
	"a count":                  {"UPDATE digest SET count = count + 1 + %[3]d WHERE job <> co"},
}

// serverMutations are about what only a server has.
var serverMutations = map[string][]string{
	"an act removed":   {"DELETE FROM log WHERE n = 1 + %[3]d %% (SELECT max(n) FROM log)"},
	"another act":      {"UPDATE log SET act = 'refuse' WHERE n = 1 + %[3]d %% (SELECT max(n) FROM log)"},
	"two acts swapped": {"UPDATE log SET h = (SELECT h FROM log l WHERE l.n = 1 + log.n %% (SELECT max(n) FROM log))"},
	"a head":           {"UPDATE log SET head = zeroblob(32) WHERE n = 1 + %[3]d %% (SELECT max(n) FROM log)"},
	"the log's end":    {"UPDATE company_seq SET n = n - 1"},
	"a position":       {"UPDATE entry SET n = n + 1000 WHERE rowid = %[1]d"},
}

// A thousand random changes to old entries, in the files of a server and of a device: verification finds every one. TACET_MUTATIONS
// says how many.
func TestVerifyFindsEveryMutation(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	w.tampered = true
	a, b := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
	a.importHouse()
	a.record(`{"do":"install","surface":"C1","layer":2,"share":1,"mass_kg_m2":12.6}`, note("one of a's"), note("two of a's"))
	a.sync()
	b.sync()
	b.record(note("one of b's"), note("two of b's"))
	b.sync()
	a.sync()
	n := number(t, "TACET_MUTATIONS", 1000)
	check := map[bool]func() error{
		false: func() error { return a.Verify(ctx, company, jobID) },
		true: func() error {
			_, err := w.server.VerifyLog(ctx, company)
			return errors.Join(err, w.server.Verify(ctx, company, jobID))
		},
	}
	found := map[string]int{}
	rnd := rand.New(rand.NewPCG(7, 7))
	for _, server := range []bool{false, true} {
		db := bareConn(t, a.store)
		if server {
			db = bareConn(t, w.store)
		}
		if err := check[server](); err != nil {
			t.Fatal(err)
		}
		keep(t, db)
		var names []string
		for name := range mutations {
			names = append(names, name)
		}
		if server {
			for name := range serverMutations {
				names = append(names, name)
			}
		}
		var entries int
		if err := db.QueryRowContext(ctx, "SELECT count(*) FROM entry").Scan(&entries); err != nil {
			t.Fatal(err)
		}
		for i := range n / 2 {
			name := names[i%len(names)]
			sql := mutations[name]
			if sql == nil {
				sql = serverMutations[name]
			}
			one := 1 + rnd.IntN(entries)
			other := 1 + (one+rnd.IntN(entries-1))%entries
			changed := mutate(t, db, sql, one, other, rnd.IntN(90), rnd.IntN(300))
			if err := check[server](); changed && !errors.Is(err, replica.ErrBroken) {
				t.Errorf("server %t, %s (%d, %d): %v", server, name, one, other, err)
			} else if changed {
				found[name]++
			}
			giveBack(t, db)
		}
		if err := check[server](); err != nil {
			t.Fatalf("what was given back does not verify: %v", err)
		}
	}
	sum := 0
	for name, k := range found {
		if k == 0 {
			t.Errorf("%s was never done", name)
		}
		sum += k
	}
	if sum < n*9/10 || len(found) != len(mutations)+len(serverMutations) {
		t.Errorf("only %d of %d changed anything: %v", sum, n, found)
	}
	t.Logf("evidence: %d changes to old entries, all found", sum)
	t.Log(found)
}

var mutated = []string{"entry", "seal", "digest", "log", "company_seq"}

// bareConn is one connection to the file of a store, beside those that it uses itself.
func bareConn(t *testing.T, st replica.Store) *sql.Conn {
	t.Helper()
	pool, err := st.(*store.Store).DB().DB()
	if err != nil {
		t.Fatal(err)
	}
	c, err := pool.Conn(ctx)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.Close() })
	for _, s := range []string{"PRAGMA foreign_keys = 0", "PRAGMA synchronous = 0"} {
		run(t, c, s)
	}
	return c
}

func run(t *testing.T, db *sql.Conn, s string) {
	t.Helper()
	if _, err := db.ExecContext(ctx, s); err != nil {
		t.Fatalf("%s: %v", s, err)
	}
}

// keep puts a copy of the tables beside them and lifts what guards them.
func keep(t *testing.T, db *sql.Conn) {
	t.Helper()
	for _, s := range []string{"DROP TRIGGER entry_no_change", "DROP TRIGGER entry_no_delete", "DROP TRIGGER log_no_change", "DROP TRIGGER log_no_delete"} {
		run(t, db, s)
	}
	for _, table := range mutated {
		run(t, db, "CREATE TABLE "+table+"_was AS SELECT rowid AS at_row, * FROM "+table)
	}
}

// mutate does it, and tells whether anything is other than before: a byte may by chance be the same, and the schema refuses some.
func mutate(t *testing.T, db *sql.Conn, list []string, args ...any) (changed bool) {
	t.Helper()
	for _, s := range list {
		_, err := db.ExecContext(ctx, fmt.Sprintf(s+" -- %[1]d %[2]d %[3]d %[4]d", args...))
		if err != nil && strings.Contains(err.Error(), "constraint") {
			break // the schema refuses it
		}
		if err != nil {
			t.Fatalf("%s: %v", s, err)
		}
	}
	for _, table := range mutated {
		var n, less int
		if err := db.QueryRowContext(ctx, "SELECT count(*), (SELECT count(*) FROM "+table+"_was) - (SELECT count(*) FROM "+table+") FROM (SELECT rowid AS at_row, * FROM "+table+" EXCEPT SELECT * FROM "+table+"_was) x").Scan(&n, &less); err != nil {
			t.Fatal(err)
		}
		changed = changed || n > 0 || less > 0
	}
	return changed
}

func giveBack(t *testing.T, db *sql.Conn) {
	t.Helper()
	for _, table := range mutated {
		var columns string
		if err := db.QueryRowContext(ctx, "SELECT group_concat(name, ', ') FROM pragma_table_info(?)", table).Scan(&columns); err != nil {
			t.Fatal(err)
		}
		run(t, db, "DELETE FROM "+table)
		run(t, db, "INSERT INTO "+table+" (rowid, "+columns+") SELECT at_row, "+columns+" FROM "+table+"_was")
	}
}
