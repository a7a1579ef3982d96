package app_test

import (
	"fmt"
	"image/color"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/google/uuid"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/pages"
	"tacet/server/phone"
)

// mayUse is the rule of one route, from the one place where it stands: the table of the protocol, or the page.
type mayUse struct {
	open, protocol, guest bool
	roles                 []jobs.Role
}

// openFiles are served to everybody: what pages are made of, without anybody's data.
var openFiles = append([]string{"/static/:sum/:name"}, phone.Paths()...)

// guestSees is written here once more, by hand, so that nothing is opened to guests by a slip in one place.
var guestSees = []string{"/jobs/:job", "/jobs/:job/history", "/jobs/:job/s/:surface", "/jobs/:job/s/:surface/history",
	"/jobs/:job/s/:surface/section-:width.svg", "/jobs/:job/s/:surface/mini.svg", "/jobs/:job/s/:surface/legend.svg",
	"/jobs/:job/s/:surface/sheet.pdf", "/jobs/:job/sheets.pdf", "/jobs/:job/photos/:sha", "/jobs/:job/photos/:sha/of/:over"}

func ruleOf(w *world, r fiber.Route) (mayUse, bool) {
	for _, a := range w.Rules() {
		if a.Method == r.Method && a.Path == r.Path {
			return mayUse{open: a.Open, protocol: true, roles: a.Roles}, a.Open || len(a.Roles) > 0
		}
	}
	for _, p := range pages.Registered() {
		if p.Path == r.Path {
			return mayUse{open: p.Open, roles: p.Roles, guest: r.Method == "GET" && slices.Contains(guestSees, p.Path)}, p.Open || len(p.Roles) > 0
		}
	}
	return mayUse{open: true}, slices.Contains(openFiles, r.Path)
}

// owned is a job, whose it is, and whether the callers may see it.
type owned struct {
	whose string
	job   string
	there bool
}

// caller is somebody who asks.
type caller struct {
	name   string
	role   jobs.Role // empty: a guest, or nobody
	cookie string
	token  string
	guest  string // the one job
	cutOff bool   // the device was revoked
}

// Every route, for every role, for a job of one's own, another of the same company, one of another company, and none. The cases are made
// from the routes that the server really has, so a new one is among them at once, and one without a rule fails.
func TestWhoMayWhat(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		site := w.enrol(w.co, "site.one", jobs.Site)
		own, over, sha := jobToTry(t, site)
		colleague := w.enrol(w.co, "site.two", jobs.Site)
		second, _, _ := jobToTry(t, colleague)
		foreign := w.enrol(w.company("Another (invented)"), "foreign.one", jobs.Site)
		theirs, _, _ := jobToTry(t, foreign)
		jobsToTry := []owned{{"own", own, true}, {"a colleague's", second, true}, {"another company's", theirs, false}, {"none", uuid.Must(uuid.NewV7()).String(), false}}

		callers := []caller{{name: "nobody"}}
		for _, role := range jobs.Roles() {
			d := site
			login := "site.one"
			if role != jobs.Site {
				login = "a." + string(role)
				d = w.enrol(w.co, login, role)
			}
			callers = append(callers, caller{name: string(role), role: role, cookie: w.signIn(login).cookie, token: d.answer.AccessToken})
		}
		secret, err := w.Accounts.AddGuest(t.Context(), accounts.Who{Company: w.co.ID, Person: site.answer.Person}, own, "building control", time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		g := (&browser{w: w}).post("/guest/"+secret, nil, nil)
		cookie, _, _ := strings.Cut(g.header.Get("Set-Cookie"), ";")
		if g.status != 303 || cookie == "" {
			t.Fatalf("a guest comes in: %d", g.status)
		}
		callers = append(callers, caller{name: "guest", cookie: cookie, guest: own})
		gone := w.enrol(w.co, "gone.one", jobs.Owner)
		if err := w.Accounts.Revoke(t.Context(), gone.id); err != nil {
			t.Fatal(err)
		}
		callers = append(callers, caller{name: "a device cut off", role: jobs.Owner, token: gone.answer.AccessToken, cutOff: true})

		param := regexp.MustCompile(`:(\w+)`)
		known := map[string]string{"surface": "C1", "layer": "1", "check": "K01", "over": over, "sha": sha, "width": "328", "code": "load", "person": site.answer.Person,
			"family": "lining", "chart": "air", "what": "jobs", "secret": "none", "sum": "x", "name": "tacet.css", "job": ""}
		tried, refused := 0, 0
		attacks := map[string]int{} // that were tried, by what they try
		for _, r := range w.Routes() {
			if r.Method == fiber.MethodHead || r.Path == "/sign-out" {
				continue
			}
			rule, ok := ruleOf(w, r)
			if !ok {
				t.Errorf("%s %s: no rule says who may use it", r.Method, r.Path)
				continue
			}
			for _, name := range param.FindAllStringSubmatch(r.Path, -1) {
				if _, ok := known[name[1]]; !ok {
					known[name[1]] = "none"
				}
			}
			targets := jobsToTry
			if !strings.Contains(r.Path, ":job") {
				targets = jobsToTry[:1]
			}
			for _, on := range targets {
				path := param.ReplaceAllStringFunc(r.Path, func(p string) string {
					if p == ":job" {
						return on.job
					}
					return known[p[1:]]
				})
				for _, c := range callers {
					q := request{method: r.Method, path: path, header: map[string]string{"Sec-Fetch-Site": "same-origin"}}
					if rule.protocol {
						q.token = c.token
						q.header = nil
					} else {
						q.header["Cookie"] = c.cookie
						q.header["Accept"] = "text/html"
						q.media = "application/x-www-form-urlencoded"
					}
					res := w.call(q)
					tried++
					attacks[attack(rule, c, on)]++
					for key, want := range map[string]string{"Content-Security-Policy": "frame-ancestors 'none'", "X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin",
						"Cross-Origin-Resource-Policy": "same-origin", "Tacet-Server": ""} {
						if got := res.header.Get(key); got == "" || !strings.Contains(got, want) && !strings.Contains(got, "sandbox") {
							t.Errorf("%s %s: %s is %q", r.Method, r.Path, key, got)
						}
					}
					if says := judgeAnswer(rule, c, on, res, r); says != "" {
						t.Errorf("%s %s as %s, job: %s: %d %s; %s", r.Method, r.Path, c.name, on.whose, res.status, res.header.Get("Location"), says)
					}
					if res.status == 401 || res.status == 403 || res.status == 404 || res.header.Get("Location") != "" {
						refused++
					}
					if !on.there && strings.Contains(string(res.body), "Canal Row") {
						t.Errorf("%s %s as %s shows a job of another company", r.Method, r.Path, c.name)
					}
				}
			}
		}
		if tried < 1000 {
			t.Errorf("only %d cases were tried", tried)
		}
		for _, kind := range []string{"without signing in", "from another role", "at a job of another company or none", "by a guest", "by a device cut off"} {
			if attacks[kind] < 40 {
				t.Errorf("%s only %d cases were tried", kind, attacks[kind])
			}
		}
		t.Logf("evidence: %d requests over all routes, roles and owners, %d refused or led elsewhere; attacks: %v", tried, refused, attacks)
		for _, a := range w.Rules() {
			if !slices.ContainsFunc(w.Routes(), func(r fiber.Route) bool { return r.Method == a.Method && r.Path == a.Path }) {
				t.Errorf("%s %s has a rule and is not served, or not under it", a.Method, a.Path)
			}
		}
	})
}

// attack says what a request tries that it must not get, and "allowed" where it may.
func attack(rule mayUse, c caller, on owned) string {
	switch {
	case rule.open:
		return "open to everybody"
	case c.cutOff:
		return "by a device cut off"
	case rule.protocol && c.token == "", !rule.protocol && c.cookie == "":
		return "without signing in"
	case c.guest != "" && (!rule.guest || on.job != c.guest):
		return "by a guest"
	case c.guest == "" && !slices.Contains(rule.roles, c.role):
		return "from another role"
	case !on.there:
		return "at a job of another company or none"
	}
	return "allowed"
}

// judgeAnswer says what is wrong with an answer, "" for nothing.
func judgeAnswer(rule mayUse, c caller, on owned, res response, r fiber.Route) string {
	signIn := res.status == 401 || res.status == 303 && strings.HasPrefix(res.header.Get("Location"), "/sign-in")
	want := func(ok bool, what string) string {
		if ok {
			return ""
		}
		return "want " + what
	}
	switch {
	case res.status >= 500:
		return "that is our fault"
	case rule.open:
		return ""
	case rule.protocol && c.cutOff:
		return want(res.status == 401 || res.status == 403, "401 or 403")
	case rule.protocol && c.token == "", c.name == "nobody", !rule.protocol && c.cookie == "":
		return want(signIn, "a demand to sign in")
	case c.guest != "":
		if rule.guest && on.job == c.guest {
			return want(res.status == 200 || strings.HasSuffix(r.Path, "/:sha") && res.status == 404, "200")
		}
		return want(res.status == 404, "404")
	case !slices.Contains(rule.roles, c.role):
		return want(res.status == 403, "403")
	case strings.Contains(r.Path, ":job") && !on.there:
		return want(res.status == 404, "404")
	}
	return want(!signIn && res.status != 403, "that it is allowed")
}

// jobToTry makes a job on a device and sends it: one surface, one layer recorded, a photo.
func jobToTry(t *testing.T, d *tablet) (job, over, sha string) {
	t.Helper()
	r := d.record()
	job = d.importJob(r)
	d.do(r, job, `{"do":"install","surface":"C1","layer":1,"share":1,"mass_kg_m2":12.6}`)
	h, err := d.blobs.Put(t.Context(), d.answer.Company, picture(t, color.Gray{90}))
	if err != nil {
		t.Fatal(err)
	}
	es := d.do(r, job, `{"do":"photo","surface":"C1","file":"`+h.String()+`"}`)
	d.sync(r)
	return job, es[0].ID, h.String()
}

// What belongs to people is found by its company too: a person, a device, a link of another firm is not there, whoever asks.
func TestPeopleOfAnotherCompany(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		w.user(w.co, "an.owner", jobs.Owner)
		b := w.signIn("an.owner")
		d := w.enrol(w.company("Another (invented)"), "foreign.one", jobs.Supervisor)
		secret, err := w.Accounts.AddGuest(t.Context(), accounts.Who{Company: d.answer.Company, Person: d.answer.Person}, "x", "client", time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		guests, err := w.Accounts.Guests(t.Context(), d.answer.Company)
		if err != nil || len(guests) != 1 {
			t.Fatal(guests, err)
		}
		at := "/people/" + d.answer.Person
		own := url.Values{"own": {password}, "password": {"another slate gutter"}, "role": {"site"}, "device": {d.id}, "guest": {guests[0].ID}}
		for _, path := range []string{at, at + "/password", at + "/role", at + "/factor", at + "/access"} {
			if r := b.get(path); r.status != 404 {
				t.Errorf("GET %s: %d", path, r.status)
			}
		}
		for _, path := range []string{at + "/code", at + "/password", at + "/role", at + "/factor", at + "/access", "/devices/revoke", "/account/end-device", "/guests/end"} {
			if r := b.post(path, own, nil); r.status != 404 {
				t.Errorf("POST %s: %d", path, r.status)
			}
		}
		if _, err := w.Accounts.Authenticate(t.Context(), d.answer.AccessToken); err != nil {
			t.Errorf("the other firm's device: %v", err)
		}
		if _, err := w.Accounts.Guest(t.Context(), secret); err != nil {
			t.Errorf("the other firm's link: %v", err)
		}
		for _, path := range []string{"/people", "/devices", "/guests"} {
			if r := b.get(path); r.status != 200 || strings.Contains(string(r.body), "foreign") || strings.Contains(string(r.body), d.id) {
				t.Errorf("%s: %d, or it shows another firm's", path, r.status)
			}
		}
	})
}

// Row-level security is the second wall: as a role that is no superuser, a query that forgets the company finds nothing at all, and one in
// a transaction of a company finds that company's rows only. Every table with a company stands behind it.
func TestWallBetweenCompanies(t *testing.T) {
	t.Run("postgres", func(t *testing.T) {
		folder, dsn := unprivileged(t)
		w := newWorld(t, folder)
		d := w.enrol(w.co, "m.reed", jobs.Site)
		jobToTry(t, d)
		jobToTry(t, w.enrol(w.company("Another (invented)"), "foreign.one", jobs.Site))
		db := openSQL(t, dsn)
		tables := companyTables(t, db)
		if len(tables) < 20 {
			t.Fatalf("found tables %v", tables)
		}
		count := func(co, table string) (n, other int) {
			tx, err := db.BeginTx(t.Context(), nil)
			if err != nil {
				t.Fatal(err)
			}
			defer tx.Rollback()
			if co != "" {
				if _, err := tx.Exec("SELECT set_config('tacet.co', $1, true)", co); err != nil {
					t.Fatal(err)
				}
			}
			if err := tx.QueryRow(fmt.Sprintf("SELECT count(*), count(*) FILTER (WHERE co <> $1) FROM %s", table), co).Scan(&n, &other); err != nil {
				t.Fatal(err)
			}
			return n, other
		}
		full := 0
		for _, table := range tables {
			if n, _ := count("", table); n != 0 {
				t.Errorf("%s: a query that names no company sees %d rows; call tacet_wall in the migration that makes the table", table, n)
			}
			if _, other := count(w.co.ID, table); other != 0 {
				t.Errorf("%s: a transaction of one company sees %d rows of another", table, other)
			}
			if n, _ := count("*", table); n > 0 {
				full++
			}
		}
		if full < 10 {
			t.Errorf("only %d tables hold anything, so little was shown", full)
		}
		// Nor can a row be written for another company.
		tx, err := db.BeginTx(t.Context(), nil)
		if err != nil {
			t.Fatal(err)
		}
		defer tx.Rollback()
		if _, err := tx.Exec("SELECT set_config('tacet.co', $1, true)", w.co.ID); err != nil {
			t.Fatal(err)
		}
		_, err = tx.Exec("INSERT INTO person (co, person, name, role) VALUES ($1, 'x', 'x', 'site')", d.id)
		if err == nil || !strings.Contains(err.Error(), "row-level security") {
			t.Errorf("a row for another company: %v", err)
		}
	})
}
