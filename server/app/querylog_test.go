package app_test

import (
	"bufio"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/app"
)

// Every query that PostgreSQL is asked names the company, so that a distributed database finds each on one machine. Read from the
// database's own log of a run through enrolment, exchange, pages and people. Outside are only the directories, which tell strangers'
// companies, and transactions that say that they look over all.
func TestEveryQueryNamesTheCompany(t *testing.T) {
	if testing.Short() {
		t.Skip("short")
	}
	c := newCluster(t, "q")
	c.must("initdb", "-D", c.data(), "-U", "tacet", "-A", "trust", "-E", "UTF8", "--no-sync")
	c.start("-c log_statement=all -c log_line_prefix='@%p ' -c fsync=off")
	w := newWorld(t, app.Folder{Dir: t.TempDir(), Database: "host=" + c.dir + " user=tacet dbname=postgres sslmode=disable"})
	d := w.enrol(w.co, "m.reed", jobs.Owner)
	job, _, _ := jobToTry(t, d)
	jobToTry(t, w.enrol(w.co, "p.stone", jobs.Site))
	b := w.signIn("m.reed")
	for _, path := range []string{"/", "/jobs/" + job, "/jobs/" + job + "/history", "/jobs/" + job + "/s/C1", "/people", "/devices", "/guests", "/account", "/queue", "/notices", "/account/notices"} {
		if res := b.get(path); res.status != 200 {
			t.Errorf("%s: %d", path, res.status)
		}
	}
	if _, err := w.Accounts.AddGuest(t.Context(), accounts.Who{Company: w.co.ID, Person: d.answer.Person}, job, "client", time.Hour); err != nil {
		t.Fatal(err)
	}
	if err := w.Accounts.SetPassword(t.Context(), "p.stone", "another slate gutter"); err != nil {
		t.Fatal(err)
	}
	if err := w.Accounts.Revoke(t.Context(), d.id); err != nil {
		t.Fatal(err)
	}
	named, over, outside := readQueries(t, filepath.Join(c.dir, "log"))
	for q, n := range outside {
		t.Errorf("%d times without a company: %.300s", n, q)
	}
	if named < 200 {
		t.Errorf("only %d queries were read", named)
	}
	t.Logf("%d queries name the company, %d look over all or into a directory", named, over)
}

var (
	statement = regexp.MustCompile(`^@(\d+) LOG:  (?:statement|execute [^:]*): (.*)`)
	detail    = regexp.MustCompile(`^@(\d+) DETAIL:  parameters: (.*)`)
	// A row that is written carries the company; what is read, changed or deleted is looked for by it.
	namesCo   = regexp.MustCompile(`(?i)^insert into .*\(.*\bco\b.*\) values|^insert into .*\bco\b.* select |\bwhere\b.*\bco"? ?= ?(\$|')`)
	noTable   = regexp.MustCompile(`(?i)^(begin|commit|listen |rollback|select 1;?$|deallocate|discard|set |show |-- ping|;|select set_config)`)
	directory = regexp.MustCompile(`account_login|account_code|account_attempt|account_setup|goose_db_version|pg_|information_schema`)
)

// readQueries counts what a log of PostgreSQL says was asked after the schema was made.
func readQueries(t *testing.T, path string) (named, over int, outside map[string]int) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	outside = map[string]int{}
	all := map[string]bool{}    // backends in a transaction that speaks for all
	last := map[string]string{} // of each backend
	lines := bufio.NewScanner(f)
	lines.Buffer(nil, 4<<20)
	for lines.Scan() {
		line := lines.Text()
		if m := detail.FindStringSubmatch(line); m != nil {
			if strings.Contains(last[m[1]], "set_config('tacet.co'") {
				all[m[1]] = strings.Contains(m[2], "$1 = '*'")
			}
			continue
		}
		m := statement.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		pid, q := m[1], strings.TrimSpace(m[2])
		last[pid] = q
		low := strings.ToLower(q)
		switch {
		case strings.HasPrefix(low, "begin"):
			all[pid] = false
		case noTable.MatchString(q), strings.HasPrefix(low, "create "), strings.HasPrefix(low, "alter "), strings.HasPrefix(low, "do "), strings.HasPrefix(low, "drop "), strings.HasPrefix(low, "select tacet_wall"):
		case directory.MatchString(q), all[pid]:
			over++
		case namesCo.MatchString(q):
			named++
		default:
			outside[q]++
		}
	}
	if err := lines.Err(); err != nil {
		t.Fatal(err)
	}
	return named, over, outside
}
