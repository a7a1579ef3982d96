package app_test

import (
	"database/sql"
	"net/url"
	"slices"
	"strings"
	"testing"

	"tacet/server/app"
	"tacet/sync/storetest"
)

// unprivileged is a folder on a fresh PostgreSQL database whose owner is no superuser, as a server should be run.
func unprivileged(t *testing.T) (app.Folder, string) {
	t.Helper()
	dsn := storetest.PostgresDSN(t)
	admin := openSQL(t, dsn)
	var name string
	if err := admin.QueryRow("SELECT current_database()").Scan(&name); err != nil {
		t.Fatal(err)
	}
	for _, q := range []string{"CREATE ROLE " + name + " LOGIN", "ALTER SCHEMA public OWNER TO " + name, "ALTER DATABASE " + name + " OWNER TO " + name} {
		if _, err := admin.Exec(q); err != nil {
			t.Fatal(err)
		}
	}
	t.Cleanup(func() {
		for _, q := range []string{"REASSIGN OWNED BY " + name + " TO CURRENT_USER", "DROP OWNED BY " + name, "DROP ROLE " + name} {
			if _, err := admin.Exec(q); err != nil {
				t.Error(err)
			}
		}
	})
	if u, err := url.Parse(dsn); err == nil && u.Scheme != "" {
		u.User = url.User(name)
		dsn = u.String()
	} else {
		dsn += " user=" + name
	}
	return app.Folder{Dir: t.TempDir(), Database: dsn}, dsn
}

func openSQL(t *testing.T, dsn string) *sql.DB {
	t.Helper()
	db, err := sql.Open("pgx", dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

// directories tell which company a stranger belongs to, so they are looked into before any company is known; account_attempt and
// account_setup belong to none.
var directories = []string{"account_login", "account_code", "account_attempt", "account_setup", "goose_db_version"}

// companyTables are the tables with a company in them that stand behind the wall.
func companyTables(t *testing.T, db *sql.DB) (list []string) {
	t.Helper()
	rows, err := db.Query("SELECT c.table_name FROM information_schema.columns c JOIN information_schema.tables b USING (table_schema, table_name) WHERE c.table_schema = 'public' AND c.column_name = 'co' AND b.table_type = 'BASE TABLE' ORDER BY 1")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			t.Fatal(err)
		}
		if !slices.Contains(directories, name) {
			list = append(list, name)
		}
	}
	return list
}

// Every primary key begins with the company, on both databases, so that one database can be spread over machines by it. Read from the
// schema itself.
func TestKeysBeginWithTheCompany(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		query := `SELECT m.name || ' ' || p.name FROM sqlite_master m JOIN pragma_table_info(m.name) p WHERE m.type = 'table' AND p.pk = 1 AND m.name NOT LIKE 'sqlite_%'`
		if w.folder.Database != "" {
			query = `SELECT t.relname || ' ' || a.attname FROM pg_index i JOIN pg_class t ON t.oid = i.indrelid JOIN pg_namespace n ON n.oid = t.relnamespace
				JOIN pg_attribute a ON a.attrelid = t.oid AND a.attnum = i.indkey[0] WHERE i.indisprimary AND n.nspname = 'public'`
		}
		var keys []string
		if err := w.Query(query, &keys); err != nil {
			t.Fatal(err)
		}
		if len(keys) < 20 {
			t.Fatalf("found %d keys", len(keys))
		}
		for _, k := range keys {
			table, column, _ := strings.Cut(k, " ")
			if column != "co" && !slices.Contains(directories, table) {
				t.Errorf("the key of %s begins with %s", table, column)
			}
		}
	})
}

// The doctor tells whether the wall stands.
func TestDoctorLooksAtTheWall(t *testing.T) {
	folder, _ := unprivileged(t)
	newWorld(t, folder)
	look := func(dsn string) string {
		return doIn(t, []string{"TACET_DATA=" + folder.Dir, "TACET_DATABASE=" + dsn}, "", "doctor").out
	}
	if out := look(folder.Database); !strings.Contains(out, "ok   wall between companies") {
		t.Errorf("as an ordinary role: %s", out)
	}
	admin := strings.TrimSuffix(folder.Database, folder.Database[strings.LastIndex(folder.Database, " user="):])
	if strings.Contains(folder.Database, "://") {
		return // the form with words is tried where it is given
	}
	if out := look(admin); !strings.Contains(out, "BAD  wall between companies") {
		t.Errorf("as a superuser: %s", out)
	}
}
