package app_test

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/app"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

func tempFolder(t *testing.T) app.Folder { return app.Folder{Dir: t.TempDir()} }

func TestEnrolSignInRefresh(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d := w.enrol(w.co, "m.reed", jobs.Site)
		a := d.answer
		if a.Company != w.co.ID || a.CompanyName != w.co.Name || a.Login != "m.reed" || a.Role != jobs.Site || a.ExpiresIn < 600 || a.ExpiresIn > 720 {
			t.Errorf("enrolled as %+v", a)
		}
		people, err := d.http.People(t.Context())
		if err != nil || len(people) != 1 || people[0].ID != a.Person {
			t.Errorf("people are %v, %v", people, err)
		}
		lanes, err := d.http.Lanes(t.Context())
		if err != nil || lanes.NextRun != 1 || len(lanes.Lanes) != 0 {
			t.Errorf("a new device has lanes %+v, %v", lanes, err)
		}
		fresh, err := d.http.Refresh(t.Context(), wire.RefreshRequest{RefreshToken: a.RefreshToken, Device: d.id, Key: d.key})
		if err != nil || fresh.RefreshToken == a.RefreshToken {
			t.Fatalf("refreshed %+v, %v", fresh, err)
		}
		d.answer.Tokens = fresh
		if _, err := d.http.People(t.Context()); err != nil {
			t.Errorf("with the fresh token: %v", err)
		}
		if _, err = d.http.SignIn(t.Context(), wire.SignInRequest{Login: "m.reed", Password: "wrong wrong wrong", Device: d.id, Key: d.key}); !errors.Is(err, replica.ErrSignIn) {
			t.Errorf("wrong password: %v", err)
		}
		again, err := d.http.SignIn(t.Context(), wire.SignInRequest{Login: "m.reed", Password: password, Device: d.id, Key: d.key})
		if err != nil || again.AccessToken == "" {
			t.Errorf("sign in: %v", err)
		}
		// A copied token in other hands is refused, and so is the request without any proof.
		if _, err = d.http.Refresh(t.Context(), wire.RefreshRequest{RefreshToken: again.RefreshToken, Device: d.id, Key: newKey(t)}); !errors.Is(err, replica.ErrSignIn) {
			t.Errorf("refresh with another key: %v", err)
		}
		body, err := json.Marshal(wire.RefreshRequest{RefreshToken: again.RefreshToken, Device: d.id})
		if err != nil {
			t.Fatal(err)
		}
		w.call(request{method: "POST", path: "/v1/refresh", media: wire.MediaJSON, body: body}).problem(t, "refresh without proof", 401)
	})
}

func TestRevokedDevice(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d := w.enrol(w.co, "m.reed", jobs.Site)
		if err := w.Accounts.Revoke(t.Context(), d.id); err != nil {
			t.Fatal(err)
		}
		for _, path := range []string{"/v1/people", "/v1/lanes", "/v1/pull"} {
			p := w.call(request{method: "GET", path: path, token: d.answer.AccessToken}).problem(t, path, 403)
			if p.Type != "/problems/device-revoked" {
				t.Errorf("%s: %+v", path, p)
			}
		}
		w.call(request{method: "POST", path: "/v1/push", token: d.answer.AccessToken, media: wire.MediaFrames, body: []byte(`{"end":{"frames":0}}`)}).problem(t, "push", 403)
		_, err := d.http.Refresh(t.Context(), wire.RefreshRequest{RefreshToken: d.answer.RefreshToken, Device: d.id, Key: d.key})
		if !errors.Is(err, replica.ErrRevoked) {
			t.Errorf("refresh: %v", err)
		}
	})
}

func TestSignInDelayOverHTTP(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	d := w.enrol(w.co, "m.reed", jobs.Site)
	for range 5 {
		_, err := d.http.SignIn(t.Context(), wire.SignInRequest{Login: "m.reed", Password: "wrong wrong wrong", Device: d.id, Key: d.key})
		if !errors.Is(err, replica.ErrSignIn) {
			t.Fatal(err)
		}
	}
	_, err := d.http.SignIn(t.Context(), wire.SignInRequest{Login: "m.reed", Password: password, Device: d.id, Key: d.key})
	var ref *replica.Refusal
	if !errors.As(err, &ref) || !errors.Is(err, replica.ErrSlowDown) || ref.RetryAfter <= 0 {
		t.Errorf("sixth attempt: %v", err)
	}
}

func TestAnswersNameTheServerAndKeepBrowsersOut(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	want := wire.KeyID(w.keys.RecordPublic())
	for _, path := range []string{"/v1/hello", "/v1/people", "/healthz", "/readyz", "/openapi.json", "/sign-in", "/s/0", "/nothing/here"} {
		r := w.call(request{method: "GET", path: path})
		if r.header.Get(wire.HeaderServer) != want {
			t.Errorf("%s: server is %q", path, r.header.Get(wire.HeaderServer))
		}
		for name, value := range map[string]string{"X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin", "X-Frame-Options": "DENY"} {
			if r.header.Get(name) != value {
				t.Errorf("%s: %s is %q", path, name, r.header.Get(name))
			}
		}
		policy := r.header.Get("Content-Security-Policy")
		for _, part := range []string{"default-src 'none'", "script-src 'self'", "frame-ancestors 'none'", "base-uri 'none'", "form-action 'self'"} {
			if !strings.Contains(policy, part) {
				t.Errorf("%s: policy %q lacks %s", path, policy, part)
			}
		}
		if strings.Contains(policy, "unsafe") {
			t.Errorf("%s: policy %q", path, policy)
		}
	}
}

func TestHello(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	open, err := wire.NewHTTP(w.URL, "", func(context.Context) (string, error) { return "", nil })
	if err != nil {
		t.Fatal(err)
	}
	hello, err := open.Hello(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if hello.KeyID != wire.KeyID(hello.ServerKey) || hello.Limits != wire.DefaultLimits() || hello.Kinds["install"] < 1 || hello.Time == 0 {
		t.Errorf("hello is %+v", hello)
	}
	r := w.call(request{method: "GET", path: "/v1/hello", header: map[string]string{wire.HeaderProtocol: "99"}})
	r.problem(t, "a protocol of the future", 426)
}
