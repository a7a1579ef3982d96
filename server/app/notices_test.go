package app_test

import (
	"crypto/x509"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/app"
	"tacet/server/notice/noticetest"
)

// A supervisor whose page is closed learns of a layer that a tablet sent: the office sets the firm's mail server and an address that is
// called on the pages, the supervisor asks for news there and confirms the address by the link in the mail, a layer is ready on site, the
// mail comes, and its link ends the mails. The password and the key are on no page.
func TestNewsOverTheServer(t *testing.T) {
	each(t, func(t *testing.T, plain *world) {
		var calls atomic.Int32
		hook := httptest.NewTLSServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { calls.Add(1); w.WriteHeader(204) }))
		t.Cleanup(hook.Close)
		roots := x509.NewCertPool()
		roots.AddCert(hook.Certificate())
		mailbox := noticetest.NewMailbox(t, hook.TLS.Certificates[0])
		// A second server on the same database is the one that tells; the first, of the helper, may not reach its own network.
		w := &world{t: t, folder: plain.folder, keys: plain.keys, co: plain.co, log: plain.log}
		var err error
		if w.Running, err = app.Start(t.Context(), app.Config{Folder: plain.folder, Listen: "127.0.0.1:0", Log: slog.New(slog.NewJSONHandler(w.log, nil)), Notices: app.NoticeConfig{Private: true, Roots: roots, Every: 100 * time.Millisecond}}); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			if err := w.Stop(); err != nil {
				t.Error(err)
			}
		})

		w.user(w.co, "o.desk", jobs.Office)
		w.user(w.co, "s.marsh", jobs.Supervisor)
		site := w.enrol(w.co, "p.stone", jobs.Site)
		office, sup := w.signIn("o.desk"), w.signIn("s.marsh")
		secret := "mail gutter secret"
		form := url.Values{"host": {"127.0.0.1"}, "port": {strconv.Itoa(mailbox.Port)}, "tls": {"starttls"}, "sender": {"tacet@example.org"}, "mail_login": {"firm"}, "password": {secret}, "own": {"not this one"}}
		if r := office.post("/notices/mail", form, nil); r.status != 422 || strings.Contains(string(r.body), secret) {
			t.Fatalf("with a wrong password of one's own: %d", r.status)
		}
		form.Set("own", password)
		if r := office.post("/notices/mail", form, nil); r.status != 303 {
			t.Fatalf("mail server: %d %s", r.status, r.body)
		}
		key := shown(t, office.post("/notices/call", url.Values{"hook": {hook.URL}, "kinds": {"to_see"}, "own": {password}}, nil))
		for _, path := range []string{"/notices", "/notices/mail", "/notices/call"} {
			r := office.get(path)
			if r.status != 200 || strings.Contains(string(r.body), secret) || strings.Contains(string(r.body), key) {
				t.Errorf("%s: %d, or it shows a secret", path, r.status)
			}
			if r := sup.get(path); r.status != 403 {
				t.Errorf("%s for a supervisor: %d", path, r.status)
			}
		}
		if r := office.post("/notices/test", nil, nil); r.status != 303 {
			t.Errorf("a call to try it: %d", r.status)
		}
		// The server's own round may be at it already when the page wants to call.
		for began := time.Now(); calls.Load() == 0 && time.Since(began) < patience; {
			time.Sleep(20 * time.Millisecond)
		}
		if calls.Load() != 1 {
			t.Errorf("a call to try it: %d calls", calls.Load())
		}

		wish := url.Values{"mail": {"s.marsh@example.org"}, "kinds": {"to_see"}, "every_min": {"5"}, "quiet_from": {"25:00"}, "quiet_to": {""}}
		if r := sup.post("/account/notices", wish, nil); r.status != 422 || !strings.Contains(string(r.body), "a time of day") {
			t.Errorf("an hour that there is not: %d", r.status)
		}
		wish.Set("quiet_from", "")
		if r := sup.post("/account/notices", wish, nil); r.status != 303 {
			t.Fatalf("wish: %d %s", r.status, r.body)
		}
		confirm := linkIn(t, await(t, mailbox, 1), "confirm")
		nobody := &browser{w: w}
		if r := nobody.get(confirm); r.status != 200 {
			t.Errorf("the link to confirm: %d", r.status)
		}
		if r := nobody.post(confirm, nil, nil); r.status != 200 {
			t.Fatalf("confirmed: %d %s", r.status, r.body)
		}

		r := site.record()
		job := site.importJob(r)
		site.do(r, job, `{"do":"install","surface":"C1","layer":1,"share":1}`)
		site.do(r, job, `{"do":"ready","surface":"C1","layer":1}`)
		site.sync(r)
		mail := await(t, mailbox, 2)
		if !strings.Contains(mail, "C1, layer 1, is ready to be seen") || !strings.Contains(mail, w.URL+"/jobs/"+job+"/s/C1/1/answer") {
			t.Fatalf("the mail: %s", mail)
		}
		if r := sup.get("/jobs/" + job + "/s/C1/1/answer"); r.status != 200 {
			t.Errorf("the page that the mail leads to: %d", r.status)
		}
		// A mail is here a moment before it is noted as taken.
		listed := office.get("/notices")
		for began := time.Now(); !strings.Contains(string(listed.body), "Taken by the other side") && time.Since(began) < patience; listed = office.get("/notices") {
			time.Sleep(20 * time.Millisecond)
		}
		if !strings.Contains(string(listed.body), "Taken by the other side") {
			t.Errorf("the list of what was sent: %s", listed.body)
		}

		// One press in a mail program, which has no cookie and says nothing about where it comes from.
		stop := linkIn(t, mail, "stop")
		if r := w.call(request{method: "POST", path: stop, media: "application/x-www-form-urlencoded", body: []byte("List-Unsubscribe=One-Click")}); r.status != 200 {
			t.Errorf("one press: %d", r.status)
		}
		if r := sup.get("/account/notices"); !strings.Contains(string(r.body), "You get no news by mail") || strings.Contains(string(r.body), "s.marsh@") {
			t.Errorf("after it: %s", r.body)
		}
		if log := w.log.String(); strings.Contains(log, secret) || strings.Contains(log, stop) {
			t.Error("the log holds the password or a link")
		}
	})
}

// patience is for how long a test waits for what a server does by itself: longer than it waits before it tries again.
const patience = 2 * time.Minute

// await waits until so many mails came and returns the text of the last, without the soft line ends of RFC 2045.
func await(t *testing.T, m *noticetest.Mailbox, n int) string {
	t.Helper()
	for began := time.Now(); time.Since(began) < patience; {
		if mails := m.Mails(); len(mails) >= n {
			return strings.ReplaceAll(strings.ReplaceAll(mails[n-1].Data, "=\n", ""), "=3D", "=")
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatalf("%d mails came, want %d", len(m.Mails()), n)
	return ""
}

func linkIn(t *testing.T, mail, what string) string {
	t.Helper()
	m := regexp.MustCompile(`(/notices/` + what + `/[\w.-]+)`).FindString(mail)
	if m == "" {
		t.Fatalf("no link to %s in %s", what, mail)
	}
	return m
}
