package pages_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
	"tacet/sync/replica"
)

// A code opens its surface however it is typed, and records nothing.
func TestOpenByCode(t *testing.T) {
	w := lanternWorld(t)
	code := jobs.SheetCode(pagestest.Job, "C1")
	before := len(w.JobAs(pagestest.Job).Records)
	loose := strings.NewReplacer("0", "o", "1", "l").Replace(strings.ToLower(jobs.FormatSheetCode(code)))
	for _, path := range []string{"/s/" + code, "/S/" + code, "/s/" + strings.ToLower(code), "/s/" + jobs.FormatSheetCode(code), "/s?code=" + url.QueryEscape(loose), "/s?code=" + url.QueryEscape(" "+code+" ")} {
		get(t, w, path).mustSee(t, c1)
	}
	wrong := []byte(code)
	wrong[3] = 'Z' - wrong[3]%5
	for path, says := range map[string]string{"/s?code=abc": "Code of the sheet must be 13 characters.", "/s/" + string(wrong): "typing error",
		"/s/" + jobs.SheetCode("018f0000-0000-7000-8000-00000000ffff", "C1"): "may not have arrived"} {
		doc := refused(t, get(t, w, path))
		if got := doc.one(t, ".errors").words(); !strings.Contains(got, says) {
			t.Errorf("%s: %q, want %q", path, got, says)
		}
	}
	if after := len(w.JobAs(pagestest.Job).Records); after != before {
		t.Error("opening a sheet recorded something")
	}
}

func TestNotFoundIsCalm(t *testing.T) {
	w := lanternWorld(t)
	for _, path := range []string{"/nothing", "/jobs/none", lantern + "/s/Z9", c1 + "/9/install", c1 + "/x/install", c1 + "/3/check/K99", c1 + "/section-9000.svg", "/static/old/tacet.css"} {
		r := get(t, w, path)
		if r.status != http.StatusNotFound {
			t.Errorf("%s: %d", path, r.status)
			continue
		}
		doc := parsePage(t, r.body)
		checkMarkup(t, path, doc)
		checkHeaders(t, path, r)
		if got := doc.one(t, "h1").words(); got != "There is nothing here." {
			t.Errorf("%s says %q", path, got)
		}
	}
}

func TestSendNow(t *testing.T) {
	checked := time.Date(2026, 11, 25, 13, 50, 0, 0, time.UTC)
	w := pagestest.New(t, pagestest.Options{Link: pages.Link{State: pages.LinkOffline, Checked: checked}, SyncErr: replica.ErrUnreachable})
	w.Lantern()
	doc := page(t, w, "/waiting")
	if got := doc.one(t, "h1").words(); !strings.HasSuffix(got, " changes and 1 photo to send.") {
		t.Errorf("the page says %q", got)
	}
	if !strings.Contains(doc.words(), "No connection. Your work is saved here and will be sent later.") || !strings.Contains(doc.words(), "The oldest was recorded today 14:05.") {
		t.Errorf("the page does not say what is safe: %s", doc.words())
	}
	r := post(t, w, "/waiting", nil)
	if r.status != http.StatusOK || !strings.Contains(parsePage(t, r.body).words(), "No connection to the server.") {
		t.Errorf("sending without a connection: %d %s", r.status, r.body)
	}
	if got := page(t, w, c1).words(); !strings.Contains(got, "waits to be sent") {
		t.Error("on the surface no record waits to be sent")
	}
	if got := page(t, w, c1).one(t, "p.line").words(); !strings.Contains(got, "No connection") || !strings.Contains(got, "Send now") {
		t.Errorf("a page's status line says %q", got)
	}
}

// A home that joined no company sends nothing, and no page says that something waits.
func TestAHomeOfItsOwn(t *testing.T) {
	w := lanternWorld(t)
	doc := page(t, w, "/waiting")
	if got := doc.one(t, "h1").words(); got != "Everything is kept on this device." {
		t.Errorf("the page says %q", got)
	}
	if n := len(doc.all("form")); n != 0 {
		t.Error("it offers to send")
	}
	for _, path := range []string{"/", c1, lantern + "/history"} {
		if got := page(t, w, path).words(); strings.Contains(got, "to be sent,") || strings.Contains(got, "waits to be sent") || strings.Contains(got, "records to send") {
			t.Errorf("%s says that something waits to be sent", path)
		}
	}
}

func TestServerPages(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{Program: pages.Server})
	w.Lantern()
	w.As(pagestest.Maren, jobs.Supervisor)
	if got := get(t, w, "/waiting").status; got != http.StatusNotFound {
		t.Errorf("the server has a page of what waits: %d", got)
	}
	if n := len(page(t, w, "/").all("p.line")); n != 0 {
		t.Error("the server says what is to be sent")
	}
	if strings.Contains(page(t, w, c1).words(), "waits to be sent") {
		t.Error("on the server a record waits to be sent")
	}
	post(t, w, "/sign-out", nil).mustSee(t, "/sign-in")
	get(t, w, c1+"?x=1").mustSee(t, "/sign-in?next="+url.QueryEscape(c1+"?x=1"))
	doc := page(t, w, "/sign-in?next="+url.QueryEscape(c1))
	if got := doc.one(t, "input[name=next]").attr["value"]; got != c1 {
		t.Errorf("after signing in it goes to %q", got)
	}
	doc = refused(t, post(t, w, "/sign-in", url.Values{"login": {"maren"}, "password": {"guess"}, "next": {c1}}))
	if got := doc.one(t, "#f-login").attr["value"]; got != "maren" {
		t.Errorf("the login came back as %q", got)
	}
	if got := doc.one(t, "#f-password").attr["value"]; got != "" {
		t.Errorf("the password came back as %q", got)
	}
	post(t, w, "/sign-in", url.Values{"login": {"maren"}, "password": {"correct horse battery staple"}, "next": {c1}}).mustSee(t, c1)
}

func TestSignInLeadsNowhereElse(t *testing.T) {
	for next, want := range map[string]string{"": "/", "/queue": "/queue", "/jobs/x?before=3": "/jobs/x?before=3", "//elsewhere.example.net": "/",
		"https://elsewhere.example.net/": "/", `/\elsewhere.example.net`: "/", "javascript:alert(1)": "/", "queue": "/", "/a\r\nSet-Cookie: x": "/"} {
		if got := pages.OwnPath(next); got != want {
			t.Errorf("next %q leads to %q, want %q", next, got, want)
		}
	}
}

func TestStaticFilesByChecksum(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{})
	doc := page(t, w, "/")
	for _, want := range []struct{ selector, attr, kind string }{{"link[rel=stylesheet]", "href", "text/css"}, {"script", "src", "text/javascript"}, {"link[rel=icon]", "href", "image/svg+xml"}} {
		r := get(t, w, doc.one(t, want.selector).attr[want.attr])
		if r.status != http.StatusOK || !strings.HasPrefix(r.header.Get("Content-Type"), want.kind) || !strings.Contains(r.header.Get("Cache-Control"), "immutable") {
			t.Errorf("%s: %d %v", want.selector, r.status, r.header)
		}
	}
}
