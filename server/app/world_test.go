package app_test

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/app"
	"tacet/sync/replica"
	"tacet/sync/storetest"
	"tacet/sync/wire"
)

const password = "slate gutter ninety"

// world is a server that serves on this machine, with one company.
type world struct {
	*app.Running
	t      *testing.T
	folder app.Folder
	keys   accounts.Keys
	co     accounts.Company
	log    *logText
}

// logText keeps what the server logs.
type logText struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *logText) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *logText) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// each runs a test on SQLite and, where one is given, on PostgreSQL.
func each(t *testing.T, test func(*testing.T, *world)) {
	t.Run("sqlite", func(t *testing.T) { test(t, newWorld(t, app.Folder{Dir: t.TempDir()})) })
	t.Run("postgres", func(t *testing.T) {
		test(t, newWorld(t, app.Folder{Dir: t.TempDir(), Database: storetest.PostgresDSN(t)}))
	})
}

func newWorld(t *testing.T, folder app.Folder) *world {
	t.Helper()
	w := &world{t: t, folder: folder, log: &logText{}}
	var err error
	w.Running, err = app.Start(t.Context(), app.Config{Folder: folder, Listen: "127.0.0.1:0", Log: slog.New(slog.NewJSONHandler(w.log, nil)), Notices: app.NoticeConfig{Every: time.Hour},
		Live: app.LiveConfig{Life: 300 * time.Millisecond, Beat: 100 * time.Millisecond}})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := w.Stop(); err != nil {
			t.Error(err)
		}
	})
	if w.keys, err = accounts.LoadKeys(filepath.Join(folder.Dir, "keys")); err != nil {
		t.Fatal(err)
	}
	w.co = w.company("Quarrystone Interiors (invented)")
	return w
}

func (w *world) company(name string) accounts.Company {
	w.t.Helper()
	co, err := w.Accounts.AddCompany(w.t.Context(), name)
	if err != nil {
		w.t.Fatal(err)
	}
	return co
}

func (w *world) user(co accounts.Company, login string, role jobs.Role) accounts.User {
	w.t.Helper()
	u, err := w.Accounts.AddUser(w.t.Context(), accounts.User{Company: co.ID, Login: login, Role: role}, password)
	if err != nil {
		w.t.Fatal(err)
	}
	return u
}

// tablet is an enrolled device that talks to the server as a client does.
type tablet struct {
	w      *world
	id     string
	key    ed25519.PrivateKey
	answer wire.EnrolAnswer
	http   *wire.HTTP
	blobs  replica.Blobs
}

func (d *tablet) token(context.Context) (string, error) { return d.answer.AccessToken, nil }

func publicKey(key ed25519.PrivateKey) ed25519.PublicKey { return key.Public().(ed25519.PublicKey) }

func newKey(t *testing.T) ed25519.PrivateKey {
	t.Helper()
	_, key, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return key
}

// enrol makes a user of the company and a device, and enrols the one on the other over HTTP.
func (w *world) enrol(co accounts.Company, login string, role jobs.Role) *tablet {
	w.t.Helper()
	w.user(co, login, role)
	code, err := w.Accounts.EnrolCode(w.t.Context(), login, accounts.CodeLife)
	if err != nil {
		w.t.Fatal(err)
	}
	d := &tablet{w: w, id: uuid.Must(uuid.NewV7()).String(), key: newKey(w.t)}
	d.join(code)
	return d
}

// request is one call as a program that is not ours may make it.
type request struct {
	method, path, token, media string
	body                       []byte
	header                     map[string]string
}

type response struct {
	status int
	header http.Header
	body   []byte
}

// call makes a request and follows no redirect.
func (w *world) call(q request) response {
	w.t.Helper()
	res, err := w.try(q)
	if err != nil {
		w.t.Fatalf("%s %s: %v", q.method, q.path, err)
	}
	return res
}

func (w *world) try(q request) (response, error) {
	req, err := http.NewRequestWithContext(w.t.Context(), q.method, w.URL+q.path, bytes.NewReader(q.body))
	if err != nil {
		return response{}, err
	}
	if q.token != "" {
		req.Header.Set("Authorization", "Bearer "+q.token)
	}
	if q.media != "" {
		req.Header.Set("Content-Type", q.media)
	}
	for k, v := range q.header {
		req.Header.Set(k, v)
	}
	client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := client.Do(req)
	if err != nil {
		return response{}, err
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	return response{res.StatusCode, res.Header, body}, err
}

// problem checks that the answer is a problem document of that status and returns it.
func (r response) problem(t *testing.T, doing string, status int) wire.Problem {
	t.Helper()
	var p wire.Problem
	if r.status != status || r.header.Get("Content-Type") != wire.MediaProblem {
		t.Errorf("%s: status %d, %s: %.200s; want %d with a problem document", doing, r.status, r.header.Get("Content-Type"), r.body, status)
		return p
	}
	if err := json.Unmarshal(r.body, &p); err != nil || p.Status != status || p.Title == "" || p.Type == "" {
		t.Errorf("%s: problem document %s, %v", doing, r.body, err)
	}
	return p
}

// join enrols the tablet with a code, over HTTP.
func (d *tablet) join(code string) {
	d.w.t.Helper()
	open, err := wire.NewHTTP(d.w.URL, "", nil)
	if err != nil {
		d.w.t.Fatal(err)
	}
	d.answer, err = open.Enrol(d.w.t.Context(), wire.EnrolRequest{Code: code, Device: d.id, PublicKey: publicKey(d.key), Name: "tablet", Key: d.key})
	if err != nil {
		d.w.t.Fatal(err)
	}
	d.moveTo(d.w)
}

// moveTo has the tablet talk to a server from here on.
func (d *tablet) moveTo(w *world) {
	d.w.t.Helper()
	var err error
	if d.http, err = wire.NewHTTP(w.URL, wire.KeyID(d.answer.ServerKey), d.token); err != nil {
		d.w.t.Fatal(err)
	}
}
