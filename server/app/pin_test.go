package app_test

import (
	"crypto/ed25519"
	"encoding/json"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/sync/wire"
)

// A crew shares a tablet: each takes it over with a PIN of their own.
func TestPinOverHTTP(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	d := w.enrol(w.co, "m.reed", jobs.Site)
	put := func(pin string) response {
		return w.call(request{method: "PUT", path: "/v1/pin", token: d.answer.AccessToken, media: wire.MediaJSON, body: []byte(`{"pin":"` + pin + `"}`)})
	}
	put("123456").problem(t, "a run", 422)
	if r := put("481516"); r.status != 204 {
		t.Fatalf("set: %d %s", r.status, r.body)
	}
	sign := func(pin string) response {
		q := wire.PinSignInRequest{Login: "m.reed", Pin: pin, Device: d.id}
		q.Proof.At = time.Now().UnixMilli()
		m, err := q.Signed(q.Proof.At)
		if err != nil {
			t.Fatal(err)
		}
		q.Proof.Sig = ed25519.Sign(d.key, m)
		body, err := json.Marshal(q)
		if err != nil {
			t.Fatal(err)
		}
		return w.call(request{method: "POST", path: "/v1/sign-in-pin", media: wire.MediaJSON, body: body})
	}
	sign("481517").problem(t, "a wrong PIN", 401)
	var tokens wire.Tokens
	if r := sign("481516"); r.status != 200 || json.Unmarshal(r.body, &tokens) != nil {
		t.Fatalf("sign in: %d %s", r.status, r.body)
	}
	if r := w.call(request{method: "GET", path: "/v1/people", token: tokens.AccessToken}); r.status != 200 {
		t.Errorf("with the token: %d", r.status)
	}
}
