package home_test

import (
	"crypto/ed25519"
	"encoding/base64"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tacet/client/home"
	"tacet/client/home/hometest"
	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// firm is a server with one person.
func firm(t *testing.T) *hometest.Firm {
	t.Helper()
	return hometest.Start(t, map[string]jobs.Role{"idris": jobs.Site})
}

// cutOff does what an enrolment does up to the moment in which the program was killed: the code is spent, the home does
// not know yet.
func cutOff(t *testing.T, h *home.Home, server, code string) (device string) {
	t.Helper()
	device, err := home.NewID()
	if err != nil {
		t.Fatal(err)
	}
	_, key, err := ed25519.GenerateKey(nil)
	if err != nil {
		t.Fatal(err)
	}
	begun, err := json.Marshal(map[string]string{"server": server, "device": device})
	if err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string]string{
		"joining.json":                       string(begun),
		filepath.Join("keys", device+".key"): base64.StdEncoding.EncodeToString(key.Seed()),
	} {
		if err := os.WriteFile(filepath.Join(h.Dir, name), []byte(data), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	w, err := wire.NewHTTP(server, "", nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Enrol(t.Context(), wire.EnrolRequest{Code: code, Device: device, PublicKey: key.Public().(ed25519.PublicKey), Name: "x", Key: key}); err != nil {
		t.Fatal(err)
	}
	return device
}

// An enrolment that was cut off after its code was spent goes on with the same code, and with another one too.
func TestJoinGoesOnWhereItWasCutOff(t *testing.T) {
	server := firm(t)
	for _, same := range []bool{true, false} {
		h := open(t, t.TempDir())
		job, err := h.NewJob(t.Context(), edges(wall))
		if err != nil {
			t.Fatal(err)
		}
		first := server.Code("idris")
		device := cutOff(t, h, server.URL, first)
		if !same {
			first = server.Code("idris")
		}
		j, err := h.Join(t.Context(), server.URL, first, "tablet")
		if err != nil {
			t.Fatalf("same code %v: %v", same, err)
		}
		if j.Jobs != 1 || j.Company != hometest.Name || h.FirmName() != j.Company || (h.Me.Device == device) != same {
			t.Errorf("same code %v: joined %+v as device %s, begun as %s", same, j, h.Me.Device, device)
		}
		rep, err := h.Sync(t.Context())
		if err != nil || rep.Sent != 3 || rep.Waiting != 0 || rep.Held != 0 {
			t.Errorf("same code %v: %+v, %v; want 3 sent", same, rep, err)
		}
		if _, err := h.Replica.Job(t.Context(), h.Me.Company, job); err != nil {
			t.Errorf("same code %v: the job is gone: %v", same, err)
		}
	}
}

// An access token that the server no longer takes is renewed once, without asking a person.
func TestSyncRenewsTheSignIn(t *testing.T) {
	server := firm(t)
	h := open(t, t.TempDir())
	if _, err := h.Join(t.Context(), server.URL, server.Code("idris"), "tablet"); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(h.Dir, "sign-in.json")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var s map[string]any
	if err := json.Unmarshal(data, &s); err != nil {
		t.Fatal(err)
	}
	s["access_token"] = "spoilt." + strings.Repeat("x", 20) + ".token"
	if data, err = json.Marshal(s); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := h.Sync(t.Context()); err != nil {
		t.Fatal(err)
	}
	c, err := h.Contact()
	if err != nil || c.State != home.ContactDone || c.Done.IsZero() {
		t.Errorf("noted %+v, %v", c, err)
	}
	s["refresh_token"] = "spoilt too"
	if data, err = json.Marshal(s); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := h.Sync(t.Context()); !errors.Is(err, replica.ErrSignIn) {
		t.Errorf("with no token that is good: %v", err)
	}
	if c, err := h.Contact(); err != nil || c.State != home.ContactSignIn {
		t.Errorf("noted %+v, %v", c, err)
	}
}

// Two programs on one home exchange at the same moment, again and again: nothing is lost and neither fails.
func TestTwoProgramsExchangeAtOnce(t *testing.T) {
	server := firm(t)
	dir := t.TempDir()
	a := open(t, dir)
	if _, err := a.Join(t.Context(), server.URL, server.Code("idris"), "tablet"); err != nil {
		t.Fatal(err)
	}
	b := open(t, dir)
	job, err := a.NewJob(t.Context(), edges(wall))
	if err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 2)
	for _, h := range []*home.Home{a, b} {
		go func() {
			for range 5 {
				if _, err := h.Record(t.Context(), job, home.Batch{JSON: []byte(`{"do":"note","text":"x"}`)}); err != nil {
					ended <- err
					return
				}
				if _, err := h.Sync(t.Context()); err != nil {
					ended <- err
					return
				}
			}
			ended <- nil
		}()
	}
	for range 2 {
		if err := <-ended; err != nil {
			t.Error(err)
		}
	}
	rep, err := a.Sync(t.Context())
	if err != nil || rep.Waiting != 0 {
		t.Errorf("%+v, %v", rep, err)
	}
	j, err := a.Replica.Settled(t.Context(), a.Me.Company, job)
	if err != nil || len(j.Records) != 13 {
		t.Errorf("%d records stand, %v; want 3 and 10", len(j.Records), err)
	}
}
