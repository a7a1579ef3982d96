package app_test

import (
	"net/url"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
)

// ledBySQLite is a query of SQLite that is led by the company: a row that is written carries it, what is read, changed or deleted is looked
// for by it.
var ledBySQLite = regexp.MustCompile("(?is)^insert into .*\\(.*`?\\bco\\b`?.*\\) values|\\bwhere\\b.*\\bco[`\"]? ?= ?(\\?|[a-z_]+\\.co)")

// overAll are the queries that look over all companies, or into a directory that tells which company a stranger belongs to, each with why.
var overAll = map[string]string{
	"account_login": "whose login it is", "account_code": "whose code it is", "account_attempt": "of logins and addresses", "account_setup": "before there is a company",
	"from `account_device`": "whose device it is that signs in or is cut off", "delete from `account_": "what is old is old for all",
	"from `account_company` order by": "each company in turn, when the server starts and each day",
}

// Every query that SQLite is asked names the company too, in a run through enrolment, exchange, pages, people and privacy: one firm's data
// never depends on what another has, and the wall that PostgreSQL adds has nothing to mend.
func TestEveryQueryOnSQLiteNamesTheCompany(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	var mu sync.Mutex
	asked := map[string]int{}
	w.Watch(func(q string) {
		mu.Lock()
		defer mu.Unlock()
		asked[strings.Join(strings.Fields(q), " ")]++
	})
	d := w.enrol(w.co, "m.reed", jobs.Owner)
	job, _, _ := jobToTry(t, d)
	jobToTry(t, w.enrol(w.co, "p.stone", jobs.Site))
	b := w.signIn("m.reed")
	for _, path := range []string{"/", "/jobs/" + job, "/jobs/" + job + "/history", "/jobs/" + job + "/s/C1", "/people", "/devices", "/guests", "/account", "/queue", "/privacy", "/privacy/looks", "/people/" + d.answer.Person + "/data"} {
		if res := b.get(path); res.status != 200 {
			t.Errorf("%s: %d", path, res.status)
		}
	}
	b.post("/privacy/search", url.Values{"words": {"somebody"}}, nil)
	if _, err := w.Accounts.AddGuest(t.Context(), accounts.Who{Company: w.co.ID, Person: d.answer.Person}, job, "client", time.Hour); err != nil {
		t.Fatal(err)
	}
	if err := w.Accounts.SetPassword(t.Context(), "p.stone", "another slate gutter"); err != nil {
		t.Fatal(err)
	}
	if err := w.Accounts.Revoke(t.Context(), d.id); err != nil {
		t.Fatal(err)
	}
	if err := w.Accounts.Tidy(t.Context()); err != nil {
		t.Fatal(err)
	}
	// A server that has just started asks this in the background too, before or after the watch began.
	if _, err := w.Accounts.Companies(t.Context()); err != nil {
		t.Fatal(err)
	}
	mu.Lock()
	defer mu.Unlock()
	led, over := 0, map[string]int{}
	for q, n := range asked {
		low := strings.ToLower(q)
		switch {
		case ledBySQLite.MatchString(q):
			led += n
		case q == "" || strings.HasPrefix(low, "pragma"):
		default:
			i := slices.IndexFunc(keysOf(overAll), func(part string) bool { return strings.Contains(low, part) })
			if i < 0 {
				t.Errorf("%d times without a company: %.300s", n, q)
				continue
			}
			over[keysOf(overAll)[i]] += n
		}
	}
	for part := range overAll {
		if over[part] == 0 {
			t.Errorf("no query was about %s: take it out of the list", part)
		}
	}
	if led < 200 {
		t.Errorf("only %d queries were seen", led)
	}
	t.Logf("%d queries name the company; over all, by reason: %v", led, over)
}

func keysOf(m map[string]string) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
