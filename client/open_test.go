package main

import (
	"bufio"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"tacet/client/home"
	"tacet/client/home/hometest"
	"tacet/client/runner"
	"tacet/jobs"
	"tacet/sync/replica"
)

// openHere serves the pages of a new home and gives the address that was printed. The test's end stops it and wants no
// error.
func openHere(t *testing.T, dir string) string {
	t.Helper()
	ctx, stop := context.WithCancel(t.Context())
	r, w := io.Pipe()
	s := &session{stdio: stdio{Out: w, Err: io.Discard}, ctx: ctx, dir: dir}
	ended := make(chan error, 1)
	go func() { ended <- (&openCmd{Listen: "127.0.0.1:0"}).Run(s) }()
	line, err := bufio.NewReader(r).ReadString('\n')
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Errorf("open ended with %v", err)
		}
	})
	return strings.TrimSpace(line)
}

// ask makes one request and follows nothing.
func ask(t *testing.T, method, address string, header map[string]string) *http.Response {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), method, address, strings.NewReader(""))
	if err != nil {
		t.Fatal(err)
	}
	for k, v := range header {
		if k == "Host" {
			req.Host = v
			continue
		}
		req.Header.Set(k, v)
	}
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := client.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { res.Body.Close() })
	return res
}

func TestOpenIsForWhoeverHasTheAddress(t *testing.T) {
	address := openHere(t, t.TempDir())
	u, err := url.Parse(address)
	if err != nil || u.Hostname() != "127.0.0.1" || u.Query().Get("key") == "" {
		t.Fatalf("printed %q, want an address on this machine with a key", address)
	}
	base := "http://" + u.Host
	res := ask(t, http.MethodGet, address, nil)
	if res.StatusCode != http.StatusSeeOther || res.Header.Get("Location") != "/" {
		t.Fatalf("the address answers %d to %q, want 303 to /", res.StatusCode, res.Header.Get("Location"))
	}
	cookies := res.Cookies()
	if len(cookies) != 1 || !cookies[0].HttpOnly || cookies[0].SameSite != http.SameSiteStrictMode || !strings.HasSuffix(cookies[0].Name, u.Port()) {
		t.Fatalf("cookies %v, want one that is HttpOnly, SameSite=Strict and of this port alone", cookies)
	}
	cookie := cookies[0].Name + "=" + cookies[0].Value
	for _, c := range []struct {
		name, method, path string
		header             map[string]string
		want               int
	}{
		{"with the cookie", "GET", "/", map[string]string{"Cookie": cookie}, 200},
		{"without it", "GET", "/", nil, 401},
		{"with another value", "GET", "/", map[string]string{"Cookie": cookie + "x"}, 401},
		{"a wrong key", "GET", "/open?key=" + u.Query().Get("key")[1:], nil, 401},
		{"no key", "GET", "/open", nil, 401},
		{"a name of somebody else's", "GET", "/", map[string]string{"Cookie": cookie, "Host": "rebound.example.org"}, 421},
		{"that name with the key", "GET", u.RequestURI(), map[string]string{"Host": "rebound.example.org:7411"}, 421},
		{"a form of another site", "POST", "/", map[string]string{"Cookie": cookie, "Sec-Fetch-Site": "cross-site"}, 403},
		{"a form of another port", "POST", "/", map[string]string{"Cookie": cookie, "Sec-Fetch-Site": "same-site"}, 403},
		{"a form of another origin", "POST", "/", map[string]string{"Cookie": cookie, "Origin": "http://127.0.0.1:1"}, 403},
		{"a page that is not there", "GET", "/nothing/here", map[string]string{"Cookie": cookie}, 404},
	} {
		if res := ask(t, c.method, base+c.path, c.header); res.StatusCode != c.want {
			t.Errorf("%s: %d, want %d", c.name, res.StatusCode, c.want)
		}
	}
}

func TestOpenOnThisMachineOnly(t *testing.T) {
	for _, a := range []string{"127.0.0.1:7411", "localhost:0", "[::1]:7411", "127.9.9.9:1"} {
		if err := onThisMachine(a); err != nil {
			t.Errorf("%s: %v", a, err)
		}
	}
	for _, a := range []string{"", ":7411", "0.0.0.0:7411", "[::]:7411", "192.168.1.4:7411", "example.org:80", "127.0.0.1", "7411"} {
		if err := onThisMachine(a); err == nil {
			t.Errorf("%q was taken", a)
		}
	}
}

// What is recorded beside the open pages goes to the server, without anybody asking.
func TestOpenSendsWhatIsRecordedBesideIt(t *testing.T) {
	server, h := enrolled(t, map[string]jobs.Role{"idris": jobs.Site})
	openHere(t, h.Dir)
	job, err := h.NewJob(t.Context(), []json.RawMessage{[]byte(`{"do":"job","name":"Beside"}`)})
	if err != nil {
		t.Fatal(err)
	}
	for range 1200 {
		if _, err := server.Replica.Job(t.Context(), h.Me.Company, job); err == nil {
			return
		}
		time.Sleep(100 * time.Millisecond) // another program's loop: there is nothing else to wait on
	}
	t.Error("after two minutes the server has not got what was recorded")
}

// It goes as soon as it is seen to wait: in this loop nothing ever goes by itself.
func TestWhatIsRecordedIsSentAtOnce(t *testing.T) {
	server, h := enrolled(t, map[string]jobs.Role{"idris": jobs.Site})
	exchanged := make(chan error)
	run := runner.New(func(ctx context.Context) (replica.Report, error) {
		report, err := h.Sync(ctx)
		select {
		case exchanged <- err:
		case <-ctx.Done():
		}
		return report, err
	}, nil)
	run.Jitter = func(time.Duration) time.Duration { return 24 * time.Hour }
	ctx, stop := context.WithCancel(t.Context())
	var background sync.WaitGroup
	t.Cleanup(background.Wait)
	t.Cleanup(stop)
	background.Go(func() {
		if err := run.Run(ctx); err != nil {
			t.Error(err)
		}
	})
	background.Go(func() { sendWhatComes(ctx, h, run) })
	if err := <-exchanged; err != nil { // the loop begins with one
		t.Fatal(err)
	}
	job, err := h.NewJob(t.Context(), []json.RawMessage{[]byte(`{"do":"job","name":"Beside"}`)})
	if err != nil {
		t.Fatal(err)
	}
	if err := <-exchanged; err != nil {
		t.Fatal(err)
	}
	if _, err := server.Replica.Job(t.Context(), h.Me.Company, job); err != nil {
		t.Errorf("after the exchange: %v", err)
	}
}

// enrolled is the server of a firm with these people, and a home of idris, who is one of them.
func enrolled(t *testing.T, people map[string]jobs.Role) (*hometest.Firm, *home.Home) {
	t.Helper()
	server := hometest.Start(t, people)
	h, err := home.Open(t.Context(), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = h.Close() }) // what it recorded is on the disk
	if _, err := h.Join(t.Context(), server.URL, server.Code("idris"), "tablet"); err != nil {
		t.Fatal(err)
	}
	return server, h
}
