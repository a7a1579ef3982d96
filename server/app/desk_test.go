package app_test

import (
	"html"
	"log/slog"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/pquerna/otp/totp"

	"tacet/jobs"
	"tacet/server/app"
)

// shown finds what a page shows in <code>.
func shown(t *testing.T, r response) string {
	t.Helper()
	m := regexp.MustCompile(`<code>([^<]+)</code>`).FindSubmatch(r.body)
	if r.status != 200 || m == nil {
		t.Fatalf("nothing is shown: %d %.400s", r.status, r.body)
	}
	return html.UnescapeString(string(m[1]))
}

// emptyWorld is a server that has no company.
func emptyWorld(t *testing.T, c app.Config) *world {
	t.Helper()
	w := &world{t: t, log: &logText{}}
	if c.Dir == "" {
		c.Folder = tempFolder(t)
	}
	c.Listen, c.Log = "127.0.0.1:0", slog.New(slog.NewJSONHandler(w.log, nil))
	w.folder = c.Folder
	var err error
	if w.Running, err = app.Start(t.Context(), c); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := w.Stop(); err != nil {
			t.Error(err)
		}
	})
	return w
}

// A firm comes into being on the pages alone: set-up code, second factor, people, a code for a device, a device cut off, a guest.
func TestAFirmOnPages(t *testing.T) {
	w := emptyWorld(t, app.Config{Factor: "required"})
	b := &browser{w: w}
	if w.SetUpCode == "" {
		t.Fatal("no set-up code")
	}
	if r := b.get("/sign-in"); r.status != 303 || r.header.Get("Location") != "/set-up" {
		t.Errorf("the sign-in page of a fresh server: %d", r.status)
	}
	if r := b.get("/set-up"); r.status != 200 {
		t.Fatalf("the set-up page: %d", r.status)
	}
	form := url.Values{"code": {"0000-0000-0000-0000"}, "company": {"Quarrystone Interiors (invented)"}, "name": {"Anna Owner"}, "login": {"an.owner"}, "password": {password}}
	if r := b.post("/set-up", form, nil); r.status != 422 || !strings.Contains(string(r.body), "setup-code") {
		t.Errorf("a wrong code: %d", r.status)
	}
	form.Set("code", strings.ToLower(strings.ReplaceAll(w.SetUpCode, "-", " ")))
	if r := b.post("/set-up", form, nil); r.status != 303 {
		t.Fatalf("set up: %d %s", r.status, r.body)
	}
	if r := b.get("/set-up"); r.status != 404 {
		t.Errorf("the set-up page after that: %d", r.status)
	}

	b = w.signIn("an.owner")
	for _, path := range []string{"/", "/people", "/account", "/queue"} {
		if r := b.get(path); r.status != 303 || r.header.Get("Location") != "/account/factor" {
			t.Errorf("%s before the second factor: %d to %s", path, r.status, r.header.Get("Location"))
		}
	}
	secret := shown(t, b.get("/account/factor"))
	code := func(at time.Time) string {
		c, err := totp.GenerateCode(secret, at)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	if r := b.post("/account/factor", url.Values{"code": {"000000"}}, nil); r.status != 422 {
		t.Errorf("a wrong code: %d", r.status)
	}
	// The code of the step before is within what a clock may be off, and leaves that of now for signing in.
	if r := b.post("/account/factor", url.Values{"code": {code(time.Now().Add(-30 * time.Second))}}, nil); r.status != 303 {
		t.Fatalf("confirm: %d %s", r.status, r.body)
	}
	if r := b.get("/people"); r.status != 200 {
		t.Fatalf("people: %d", r.status)
	}
	login := url.Values{"login": {"an.owner"}, "password": {password}}
	if r := b.post("/sign-in", login, nil); r.status != 422 {
		t.Errorf("signing in without the code: %d", r.status)
	}
	login.Set("code", code(time.Now().Add(30*time.Second)))
	if r := b.post("/sign-in", login, nil); r.status != 303 {
		t.Errorf("signing in with the code: %d %s", r.status, r.body)
	}

	// A person, a code for their device, and the device at work.
	person := url.Values{"name": {"M. Reed"}, "login": {"m.reed"}, "role": {"site"}, "password": {password}}
	r := b.post("/add-person", person, nil)
	at := r.header.Get("Location")
	if r.status != 303 || !strings.HasPrefix(at, "/people/") {
		t.Fatalf("add a person: %d %s", r.status, r.body)
	}
	if r := b.post("/add-person", person, nil); r.status != 422 || strings.Contains(string(r.body), password) {
		t.Errorf("the same login again: %d", r.status)
	}
	enrol := b.post(at+"/code", nil, nil)
	if !strings.Contains(string(enrol.body), "<svg") || enrol.header.Get("Cache-Control") != "no-store" {
		t.Error("the code has no picture, or may be kept")
	}
	d := &tablet{w: w, id: "01890a5d-ac96-774b-bcce-b302099a8057", key: newKey(t)}
	d.join(shown(t, enrol))
	if _, err := w.Accounts.Authenticate(t.Context(), d.answer.AccessToken); err != nil {
		t.Error(err)
	}
	rec := d.record()
	job := d.importJob(rec)
	d.sync(rec)
	if r := b.get("/devices"); r.status != 200 || !strings.Contains(string(r.body), d.id) {
		t.Errorf("devices: %d", r.status)
	}

	// The person changes the password; all that was signed in with the old one ends.
	p := w.signIn("m.reed")
	if r := p.get("/people"); r.status != 403 {
		t.Errorf("site looks at people: %d", r.status)
	}
	change := url.Values{"own": {"wrong wrong wrong"}, "password": {"another slate gutter"}, "again": {"another slate gutter"}}
	if r := p.post("/account/password", change, nil); r.status != 422 {
		t.Errorf("change with a wrong password: %d", r.status)
	}
	change.Set("own", password)
	if r := p.post("/account/password", change, nil); r.status != 303 {
		t.Errorf("change: %d %s", r.status, r.body)
	}
	if r := p.get("/account"); r.status != 303 {
		t.Errorf("the browser after that: %d", r.status)
	}
	if _, err := w.Accounts.Authenticate(t.Context(), d.answer.AccessToken); err == nil {
		t.Error("the device's token after that")
	}

	// A guest sees the job and nothing else.
	days := url.Values{"job": {job}, "name": {"Building control"}, "days": {"14"}}
	link := shown(t, b.post("/guests", days, nil))
	g := &browser{w: w}
	in := link[strings.Index(link, "/guest/"):]
	if r := g.get(in); r.status != 200 || r.header.Get("Set-Cookie") != "" {
		t.Errorf("looking at the link: %d", r.status)
	}
	r = g.post(in, nil, nil)
	g.cookie, _, _ = strings.Cut(r.header.Get("Set-Cookie"), ";")
	if r := g.get("/jobs/" + job); r.status != 200 || !strings.Contains(string(r.body), "a guest who only reads") {
		t.Errorf("the job for a guest: %d", r.status)
	}
	for _, path := range []string{"/", "/queue", "/people", "/jobs/" + job + "/note", "/account"} {
		if r := g.get(path); r.status != 404 {
			t.Errorf("%s for a guest: %d", path, r.status)
		}
	}
	if r := g.post("/jobs/"+job+"/note", url.Values{"text": {"x"}}, nil); r.status != 404 {
		t.Errorf("a guest writes: %d", r.status)
	}
	end := regexp.MustCompile(`name="guest" value="([^"]+)"`).FindSubmatch(b.get("/guests").body)
	if end == nil {
		t.Fatal("the link can't be ended")
	}
	if r := b.post("/guests/end", url.Values{"guest": {string(end[1])}}, nil); r.status != 303 {
		t.Errorf("end the link: %d", r.status)
	}
	if r := g.get("/jobs/" + job); r.status != 303 {
		t.Errorf("the guest after that: %d", r.status)
	}

	// The device is lost.
	if r := b.post("/devices/revoke", url.Values{"device": {d.id}}, nil); r.status != 303 {
		t.Errorf("cut off: %d", r.status)
	}
	if _, err := rec.Sync(t.Context(), d.http); err == nil {
		t.Error("the device still syncs")
	}

	// Whoever runs the server takes the second factor off.
	if err := w.Accounts.DropFactor(t.Context(), "an.owner"); err != nil {
		t.Error(err)
	}
	for _, secret := range []string{password, secret, "another slate gutter", w.SetUpCode, link} {
		if strings.Contains(w.log.String(), secret) {
			t.Error("a secret stands in the log")
		}
	}
}

// The office looks after people, but makes no owners and changes none.
func TestOfficeMakesNoOwner(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	w.user(w.co, "an.office", jobs.Office)
	owner := w.user(w.co, "an.owner", jobs.Owner)
	b := w.signIn("an.office")
	if r := b.post("/add-person", url.Values{"name": {"x"}, "login": {"x.owner"}, "role": {"owner"}, "password": {"another slate gutter"}}, nil); r.status != 422 {
		t.Errorf("the office makes an owner: %d", r.status)
	}
	for _, path := range []string{"/password", "/access"} {
		r := b.post("/people/"+owner.Person+path, url.Values{"own": {password}, "password": {"another slate gutter"}}, nil)
		if r.status < 400 || r.status > 499 {
			t.Errorf("the office changes an owner at %s: %d", path, r.status)
		}
	}
	// Protected fields that a form slips in are not taken.
	r := b.post("/add-person", url.Values{"name": {"x"}, "login": {"x.site"}, "role": {"site"}, "password": {"another slate gutter"},
		"company": {"other"}, "person": {owner.Person}, "state": {"ended"}, "co": {"other"}, "gen": {"7"}}, nil)
	u, err := w.Accounts.UserByLogin(t.Context(), "x.site")
	if r.status != 303 || err != nil || u.Company != w.co.ID || u.Person == owner.Person || u.Ended {
		t.Errorf("slipped-in fields: %d %+v %v", r.status, u, err)
	}
}

// The commands of an operator for the same things.
func TestSetUpByCommand(t *testing.T) {
	data := t.TempDir()
	_, stop := serve(t, nil, "--data", data)
	defer stop()
	code := do(t, data, "", "setup-code")
	if code.code != 0 || len(strings.TrimSpace(code.out)) != 19 {
		t.Fatalf("setup-code: %+v", code)
	}
	bad := do(t, data, password+"\n", "set-up", "--code", "0000-0000-0000-0000", "--company", "Firm (invented)", "--login", "an.owner", "--password-stdin")
	if bad.code != 2 {
		t.Errorf("a wrong code: %+v", bad)
	}
	made := do(t, data, password+"\n", "set-up", "--code", strings.TrimSpace(code.out), "--company", "Firm (invented)", "--login", "an.owner", "--password-stdin")
	if made.code != 0 || len(strings.TrimSpace(made.out)) != 36 {
		t.Errorf("set-up: %+v", made)
	}
	if r := do(t, data, "", "setup-code"); r.code != 2 {
		t.Errorf("a code for a server that is set up: %+v", r)
	}
	do(t, data, "", "keys", "rotate").want(t, "keys rotate", 0, "")
	do(t, data, "", "user", "drop-factor", "an.owner").want(t, "drop-factor", 0, "")
	if r := do(t, data, "", "user", "role", "an.owner", "site"); r.code != 2 {
		t.Errorf("the only owner becomes another: %+v", r)
	}
	add := do(t, data, password+"\n", "user", "add", "--company", strings.TrimSpace(made.out), "--login", "m.reed", "--role", "site", "--password-stdin")
	add.want(t, "user add", 0, "")
	do(t, data, "", "user", "role", "m.reed", "supervisor").want(t, "role", 0, "")
	do(t, data, "", "user", "end", "m.reed").want(t, "end", 0, "")
	do(t, data, "", "user", "reinstate", "m.reed").want(t, "reinstate", 0, "")
}

// A server that listens on every address of its machine says where it is set up by the address that people know.
func TestSetUpNamesThePublicAddress(t *testing.T) {
	says, stop := serving(t, nil, "--data", t.TempDir(), "--public-url", "https://tacet.example.org:8443")
	defer stop()
	if at := says(); !strings.HasPrefix(at, "http://127.0.0.1:") {
		t.Errorf("the first line is %q", at)
	}
	if line := says(); !strings.Contains(line, "Set it up at https://tacet.example.org:8443/set-up with the code ") {
		t.Errorf("the second line is %q", line)
	}
}

// startOn starts a server on a folder that exists.
func startOn(t *testing.T, folder app.Folder, log *logText) *app.Running {
	t.Helper()
	s, err := app.Start(t.Context(), app.Config{Folder: folder, Listen: "127.0.0.1:0", Log: slog.New(slog.NewJSONHandler(log, nil))})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Stop(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// A button that is tapped twice does it once, whatever it does: the second tap gets what the first one got, also where that is shown once.
// Somebody else, and the same form shown anew, is another.
func TestATapTwiceDoesItOnce(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	w.user(w.co, "m.reed", jobs.Office)
	d := w.enrol(w.co, "an.owner", jobs.Owner)
	rec := d.record()
	job := d.importJob(rec)
	d.sync(rec)
	b, other := w.signIn("an.owner"), w.signIn("m.reed")
	keys := regexp.MustCompile(`name="form" value="([^"]+)"`)
	key := func(path string) string {
		t.Helper()
		m := keys.FindSubmatch(b.get(path).body)
		if m == nil {
			t.Fatalf("the buttons of %s have nothing to be known by", path)
		}
		return string(m[1])
	}
	code := url.Values{"form": {key("/account")}}
	first := shown(t, b.post("/account/enrol", code, nil))
	if again := b.post("/account/enrol", code, nil); shown(t, again) != first || again.header.Get("Cache-Control") != "no-store" {
		t.Errorf("a second tap makes another code, or one that may be kept: %q", again.header.Get("Cache-Control"))
	}
	if shown(t, other.post("/account/enrol", code, nil)) == first {
		t.Error("somebody else is shown the code")
	}
	if shown(t, b.post("/account/enrol", url.Values{"form": {key("/account")}}, nil)) == first {
		t.Error("the page shown anew makes the same code")
	}
	guest := url.Values{"form": {key("/guests")}, "job": {job}, "name": {"Building control"}, "days": {"14"}}
	link := shown(t, b.post("/guests", guest, nil))
	if shown(t, b.post("/guests", guest, nil)) != link {
		t.Error("a second tap makes another link")
	}
	if n := strings.Count(string(b.get("/guests").body), "Not used yet."); n != 1 {
		t.Errorf("two taps made %d links", n)
	}
	person := url.Values{"form": {key("/add-person")}, "name": {"I. Vaugh"}, "login": {"i.vaugh"}, "role": {"site"}, "password": {"another slate gutter"}}
	at := b.post("/add-person", person, nil)
	if again := b.post("/add-person", person, nil); again.status != 303 || again.header.Get("Location") != at.header.Get("Location") {
		t.Errorf("a second tap: %d to %q", again.status, again.header.Get("Location"))
	}
	// What was refused is not taken, and may be sent again as it stands.
	person.Set("login", "m.reed")
	person.Set("form", key("/add-person"))
	for range 2 {
		if r := b.post("/add-person", person, nil); r.status != 422 {
			t.Errorf("a login that is taken: %d", r.status)
		}
	}
}
