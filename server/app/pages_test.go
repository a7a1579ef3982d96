package app_test

import (
	"encoding/json"
	"log/slog"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/app"
)

// browser is one that keeps its cookie and says, as browsers do, where its forms come from.
type browser struct {
	w      *world
	cookie string
}

func (b *browser) get(path string) response {
	b.w.t.Helper()
	return b.w.call(request{method: "GET", path: path, header: map[string]string{"Accept": "text/html", "Cookie": b.cookie}})
}

func (b *browser) post(path string, form url.Values, header map[string]string) response {
	b.w.t.Helper()
	h := map[string]string{"Accept": "text/html", "Cookie": b.cookie, "Sec-Fetch-Site": "same-origin"}
	for k, v := range header {
		h[k] = v
	}
	return b.w.call(request{method: "POST", path: path, media: "application/x-www-form-urlencoded", body: []byte(form.Encode()), header: h})
}

func (w *world) signIn(login string) *browser {
	w.t.Helper()
	b := &browser{w: w}
	r := b.post("/sign-in", url.Values{"login": {login}, "password": {password}}, nil)
	if r.status != http.StatusSeeOther {
		w.t.Fatalf("signing in as %s: %d %s", login, r.status, r.body)
	}
	b.cookie, _, _ = strings.Cut(r.header.Get("Set-Cookie"), ";")
	return b
}

func TestSignInWithABrowser(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	w.user(w.co, "s.marsh", jobs.Supervisor)
	stranger := &browser{w: w}
	if r := stranger.get("/"); r.status != 303 || r.header.Get("Location") != "/sign-in?next=%2F" {
		t.Errorf("without a cookie: %d to %s", r.status, r.header.Get("Location"))
	}
	if r := stranger.get("/sign-in"); r.status != 200 || !strings.Contains(string(r.body), `name="password"`) {
		t.Errorf("the sign-in page: %d", r.status)
	}
	form := url.Values{"login": {"s.marsh"}, "password": {password}, "next": {"/jobs"}}
	for name, header := range map[string]map[string]string{
		"a form of another site":        {"Sec-Fetch-Site": "cross-site"},
		"a form of another site, older": {"Sec-Fetch-Site": "", "Origin": "https://evil.example.net"},
	} {
		if r := stranger.post("/sign-in", form, header); r.status != 403 || r.header.Get("Set-Cookie") != "" {
			t.Errorf("%s: %d", name, r.status)
		}
	}
	r := stranger.post("/sign-in", form, nil)
	if r.status != 303 || r.header.Get("Location") != "/jobs" {
		t.Errorf("signed in: %d to %s", r.status, r.header.Get("Location"))
	}
	cookie := strings.ToLower(r.header.Get("Set-Cookie"))
	for _, part := range []string{"tacet-server=", "httponly", "samesite=strict", "path=/"} {
		if !strings.Contains(cookie, part) {
			t.Errorf("cookie %q lacks %s", cookie, part)
		}
	}
	form.Set("next", "https://evil.example.net/")
	if r := stranger.post("/sign-in", form, nil); r.header.Get("Location") != "/" {
		t.Errorf("led to %s after signing in", r.header.Get("Location"))
	}

	b := w.signIn("s.marsh")
	if r := b.get("/"); r.status != 200 || !strings.HasPrefix(r.header.Get("Content-Type"), "text/html") {
		t.Errorf("the first page: %d %s", r.status, r.body)
	}
	if r := b.get("/nothing/here"); r.status != 404 || !strings.HasPrefix(r.header.Get("Content-Type"), "text/html") {
		t.Errorf("a page that is not there: %d %s", r.status, r.header.Get("Content-Type"))
	}
	if r := b.post("/sign-out", nil, nil); r.status != 303 {
		t.Errorf("signing out: %d", r.status)
	}
	if r := b.get("/"); r.status != 303 {
		t.Errorf("the cookie after signing out: %d", r.status)
	}

	wrong := url.Values{"login": {"s.marsh"}, "password": {"wrong wrong wrong"}}
	for range 5 {
		if r := stranger.post("/sign-in", wrong, nil); r.status < 400 || r.status > 499 || r.header.Get("Set-Cookie") != "" || strings.Contains(string(r.body), "wrong wrong wrong") {
			t.Errorf("wrong password: %d", r.status)
		}
	}
	if r := stranger.post("/sign-in", form, nil); r.status < 400 || r.status > 499 || !strings.Contains(strings.ToLower(string(r.body)), "try again in 2 s") {
		t.Errorf("the sixth attempt: %d %s", r.status, r.body)
	}
}

func TestCookieIsSecureBehindTLS(t *testing.T) {
	folder := tempFolder(t)
	s, err := app.Start(t.Context(), app.Config{Folder: folder, Listen: "127.0.0.1:0", Secure: true, Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Stop()
	w := &world{Running: s, t: t, folder: folder, log: &logText{}}
	w.co = w.company("Quarrystone Interiors (invented)")
	w.user(w.co, "s.marsh", jobs.Supervisor)
	r := (&browser{w: w}).post("/sign-in", url.Values{"login": {"s.marsh"}, "password": {password}}, nil)
	cookie := strings.ToLower(r.header.Get("Set-Cookie"))
	if !strings.HasPrefix(cookie, "__host-tacet-server=") || !strings.Contains(cookie, "; secure") || strings.Contains(cookie, "domain=") {
		t.Errorf("cookie %q", cookie)
	}
	if r.header.Get("Strict-Transport-Security") == "" {
		t.Error("browsers are not told to come back over TLS")
	}
}

// onServer makes a company with a job that its supervisor can see on the server's pages.
func onServer(t *testing.T, w *world) (d *tablet, job string) {
	t.Helper()
	d = w.enrol(w.co, "m.reed", jobs.Site)
	r := d.record()
	job = d.importJob(r)
	d.do(r, job, `{"do":"install","surface":"C1","layer":1,"share":1,"mass_kg_m2":12.6}`)
	d.sync(r)
	return d, job
}

func TestSupervisorRecordsOnTheServersPages(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		_, job := onServer(t, w)
		u := w.user(w.co, "s.marsh", jobs.Supervisor)
		b := w.signIn("s.marsh")
		if r := b.get("/jobs/" + job); r.status != 200 || !strings.Contains(string(r.body), "Canal Row (invented)") {
			t.Fatalf("the job's page: %d %.300s", r.status, r.body)
		}
		const said = "seen from the office"
		if r := b.post("/jobs/"+job+"/note", url.Values{"text": {said}}, nil); r.status != 303 {
			t.Fatalf("recording a note: %d %s", r.status, r.body)
		}
		if r := b.post("/jobs/"+job+"/note", url.Values{"text": {"from another site"}}, map[string]string{"Sec-Fetch-Site": "cross-site"}); r.status != 403 {
			t.Errorf("a form of another site: %d", r.status)
		}
		other := w.enrol(w.co, "p.stone", jobs.Site)
		fresh := other.record()
		other.sync(fresh)
		j, err := fresh.Job(t.Context(), w.co.ID, job)
		if err != nil {
			t.Fatal(err)
		}
		notes := j.Of("note")
		if len(notes) != 1 || notes[0].By != u.Person || notes[0].Dev != w.keys.Server || notes[0].What.(*jobs.Note).Text != said {
			t.Errorf("the device got %d notes", len(notes))
		}
		if _, err := fresh.Prove(t.Context(), w.co.ID, job); err != nil {
			t.Errorf("what the server recorded does not prove itself on a device: %v", err)
		}
	})
}

func TestCodeOfASheetLeadsToItsSurface(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	_, job := onServer(t, w)
	w.user(w.co, "s.marsh", jobs.Supervisor)
	code := jobs.SheetCode(job, "C1")
	path := "/S/" + code
	r := (&browser{w: w}).get(path)
	to, err := url.Parse(r.header.Get("Location"))
	if r.status != 303 || err != nil || to.Path != "/sign-in" || !strings.EqualFold(to.Query().Get("next"), path) {
		t.Errorf("not signed in: %d to %s", r.status, r.header.Get("Location"))
	}
	b := w.signIn("s.marsh")
	for _, p := range []string{path, strings.ToLower(path)} {
		r := b.get(p)
		if r.status != 303 {
			t.Fatalf("%s: %d %s", p, r.status, r.body)
		}
		if r := b.get(r.header.Get("Location")); r.status != 200 || !strings.Contains(string(r.body), "C1") {
			t.Errorf("%s leads to %d", p, r.status)
		}
	}
	w.user(w.company("Another (invented)"), "stranger", jobs.Owner)
	if r := w.signIn("stranger").get(path); r.status < 400 || r.status > 499 || strings.Contains(string(r.body), "Canal Row") {
		t.Errorf("another company's code: %d", r.status)
	}
}

// Every page and every form that names a job, taken from what the server itself says it serves, is "not found" for another company.
func TestForeignJobsOnEveryPage(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	d, job := onServer(t, w)
	other := w.company("Another (invented)")
	var doc struct{ Paths map[string]map[string]any }
	if err := json.Unmarshal(w.call(request{method: "GET", path: "/openapi.json"}).body, &doc); err != nil {
		t.Fatal(err)
	}
	sha := jobs.HashBlob([]byte("x")).String()
	fill := strings.NewReplacer("{job}", job, "{surface}", "C1", "{layer}", "1", "{check}", "K01", "{over}", strings.Repeat("0", 36), "{sha}", sha)
	rest := regexp.MustCompile(`\{\w+\}`)
	tried := 0
	for _, role := range jobs.Roles() {
		w.user(other, "stranger-"+string(role), role)
		b := w.signIn("stranger-" + string(role))
		for path, item := range doc.Paths {
			if strings.Contains(path, ":") {
				t.Errorf("%s is not written as OpenAPI writes paths", path)
			}
			if !strings.Contains(path, "{job}") || strings.HasPrefix(path, "/v1/") {
				continue
			}
			at := rest.ReplaceAllString(fill.Replace(path), "600")
			for method := range item {
				var r response
				if method == "get" {
					r = b.get(at)
				} else {
					r = b.post(at, url.Values{"text": {"x"}}, nil)
				}
				tried++
				// A page that this role may open for no job at all may say so before it looks for the job.
				if r.status != 404 && r.status != 403 {
					t.Errorf("%s %s as %s of another company: %d %.200s", method, at, role, r.status, r.body)
				}
				if strings.Contains(string(r.body), "Canal Row") {
					t.Errorf("%s %s shows another company's job", method, at)
				}
			}
		}
	}
	if tried < 40 {
		t.Errorf("only %d pages and forms were tried", tried)
	}
	theirs, err := w.Replica.Job(t.Context(), w.co.ID, job)
	if err != nil {
		t.Fatal(err)
	}
	for _, rec := range theirs.Records {
		if rec.By != d.answer.Person {
			t.Errorf("somebody of another company recorded a %s", rec.Kind)
		}
	}
}

// Whoever is lost still has the menu: what no route answered, a method that none has and a form from elsewhere look like any other page.
// Devices get their problem as before.
func TestWhatWentWrongHasTheMenu(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	w.user(w.co, "s.marsh", jobs.Supervisor)
	b, stranger := w.signIn("s.marsh"), &browser{w: w}
	for name, test := range map[string]struct {
		answer response
		status int
		says   string
	}{
		"no such address":     {b.get("/nothing/here"), 404, "Nothing has this address"},
		"no such job":         {b.get("/jobs/none"), 404, "Nothing has this address"},
		"no such method":      {b.get("/sign-out"), 404, "Nothing has this address"},
		"not for this role":   {b.get("/people"), 403, "This page is for the office and owners."},
		"a form of elsewhere": {b.post("/sign-out", nil, map[string]string{"Sec-Fetch-Site": "cross-site"}), 403, ""},
	} {
		if body := string(test.answer.body); test.answer.status != test.status || !strings.Contains(body, test.says) || !strings.Contains(body, `href="/queue"`) {
			t.Errorf("%s: %d %s", name, test.answer.status, body)
		}
	}
	if r := stranger.get("/nothing/here"); r.status != 404 || strings.Contains(string(r.body), `href="/queue"`) || !strings.Contains(string(r.body), `href="/"`) {
		t.Errorf("a stranger: %d %s", r.status, r.body)
	}
	for _, path := range []string{"/v1/nothing", "/v1/pull/nothing"} {
		if r := b.get(path); r.status != 404 || !strings.HasPrefix(string(r.body), "{") {
			t.Errorf("%s: %d %s", path, r.status, r.body)
		}
	}
}
