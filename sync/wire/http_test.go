package wire_test

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

func signedIn(context.Context) (string, error) { return "t0ken", nil }

// serve answers every call with h, as our server unless h says otherwise.
func serve(t *testing.T, h http.HandlerFunc) *wire.HTTP {
	t.Helper()
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set(wire.HeaderServer, "the-key")
		h(w, r)
	}))
	t.Cleanup(s.Close)
	c, err := wire.NewHTTP(s.URL, "the-key", signedIn)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func answer(w http.ResponseWriter, media string, status int, body string) {
	w.Header().Set("Content-Type", media)
	w.WriteHeader(status)
	if _, err := io.WriteString(w, body); err != nil {
		panic(err)
	}
}

func TestPush(t *testing.T) {
	c := serve(t, func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodPost || r.URL.Path != "/v1/push" || r.Header.Get("Authorization") != "Bearer t0ken" || r.Header.Get(wire.HeaderProtocol) != "1" {
			t.Errorf("%s %s %v", r.Method, r.URL, r.Header)
		}
		b, err := wire.ReadBatch(r.Body)
		if err != nil || len(b.Entries) != 2 {
			t.Errorf("%+v, %v", b, err)
		}
		w.Header().Set("Content-Type", wire.MediaFrames)
		if err := wire.WriteAnswer(w, replica.Answer{Verdicts: []replica.Verdict{{ID: "a", State: replica.Standing, N: 1}}, Time: 9}); err != nil {
			t.Error(err)
		}
	})
	a, err := c.Push(context.Background(), batch())
	if err != nil || len(a.Verdicts) != 1 || a.Time != 9 {
		t.Errorf("%+v, %v", a, err)
	}
}

// What is no answer of our server is no connection.
func TestNoConnection(t *testing.T) {
	for name, h := range map[string]http.HandlerFunc{
		"another media type": func(w http.ResponseWriter, _ *http.Request) { answer(w, "text/html", 200, "<html>") },
		"no trailer":         func(w http.ResponseWriter, _ *http.Request) { answer(w, wire.MediaFrames, 200, "") },
		"a redirect": func(w http.ResponseWriter, r *http.Request) {
			http.Redirect(w, r, "http://portal.example", http.StatusFound)
		},
		"another server": func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set(wire.HeaderServer, "another-key")
			answer(w, wire.MediaFrames, 200, `{"end":{"frames":0}}`)
		},
		"a portal": func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Del(wire.HeaderServer)
			answer(w, wire.MediaFrames, 200, `{"end":{"frames":0}}`)
		},
		"a portal's 401": func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Del(wire.HeaderServer)
			answer(w, wire.MediaProblem, 401, `{"type":"/problems/device-revoked"}`)
		},
		"a proxy's 502": func(w http.ResponseWriter, _ *http.Request) { answer(w, "text/html", 502, "bad gateway") },
		"a cut":         func(http.ResponseWriter, *http.Request) { panic(http.ErrAbortHandler) },
	} {
		t.Run(name, func(t *testing.T) {
			c := serve(t, h)
			if _, err := c.Push(context.Background(), batch()); !errors.Is(err, replica.ErrUnreachable) {
				t.Errorf("push: %v", err)
			}
			if _, err := c.Pull(context.Background(), replica.Cursor{}, 1000); !errors.Is(err, replica.ErrUnreachable) {
				t.Errorf("pull: %v", err)
			}
			if _, err := c.SendPhoto(context.Background(), "j", jobs.Hash{1}, 0, 1, []byte("x")); !errors.Is(err, replica.ErrUnreachable) {
				t.Errorf("photo: %v", err)
			}
		})
	}
	c, err := wire.NewHTTP("http://127.0.0.1:1", "", signedIn)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := c.People(context.Background()); !errors.Is(err, replica.ErrUnreachable) {
		t.Errorf("nobody there: %v", err)
	}
}

func TestProblemsComeBack(t *testing.T) {
	c := serve(t, func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Retry-After", "7")
		p, _ := wire.ProblemOf(replica.ErrBusy)
		b, err := json.Marshal(p)
		if err != nil {
			t.Error(err)
		}
		answer(w, wire.MediaProblem, p.Status, string(b))
	})
	_, err := c.Lanes(context.Background())
	var ref *replica.Refusal
	if !errors.Is(err, replica.ErrBusy) || !errors.As(err, &ref) || ref.RetryAfter != 7*time.Second {
		t.Errorf("%v", err)
	}
	c = serve(t, func(w http.ResponseWriter, _ *http.Request) {
		answer(w, wire.MediaProblem, 418, `{"type":"/problems/teapot","title":"short and stout"}`)
	})
	if _, err := c.Lanes(context.Background()); err == nil || !strings.Contains(err.Error(), "short and stout") || wire.Exit(err) != 1 {
		t.Errorf("%v", err)
	}
}

func TestPhotos(t *testing.T) {
	data := bytes.Repeat([]byte("pic"), 1000)
	sha := jobs.HashBlob(data)
	kept := map[string][]byte{}
	spoil := false
	c := serve(t, func(w http.ResponseWriter, r *http.Request) {
		have := kept[r.URL.Path]
		if r.Method == http.MethodPut {
			b, err := io.ReadAll(r.Body)
			if err != nil || r.Header.Get(wire.HeaderDigest) != wire.ContentDigest(b) || r.URL.Query().Get("of") != "3000" || r.URL.Query().Get("at") != strconv.Itoa(len(have)) {
				t.Errorf("%s, digest %s, %v", r.URL, r.Header.Get(wire.HeaderDigest), err)
			}
			have = append(have, b...)
			kept[r.URL.Path] = have
			answer(w, wire.MediaJSON, 200, fmt.Sprintf(`{"have":%d,"whole":%t}`, len(have), len(have) == 3000))
			return
		}
		var first, last int
		if _, err := fmt.Sscanf(r.Header.Get("Range"), "bytes=%d-%d", &first, &last); err != nil {
			t.Error(err)
		}
		piece := have[first:min(last+1, len(have))]
		w.Header().Set(wire.HeaderDigest, wire.ContentDigest(piece))
		w.Header().Set("Content-Range", fmt.Sprintf("bytes %d-%d/%d", first, first+len(piece)-1, len(have)))
		if spoil {
			piece = bytes.ToUpper(piece)
		}
		answer(w, wire.MediaPhoto, 206, string(piece))
	})
	ctx := context.Background()
	if p, err := c.SendPhoto(ctx, "j1", sha, 0, 3000, data[:2000]); err != nil || p.Have != 2000 || p.Whole {
		t.Fatal(p, err)
	}
	if p, err := c.SendPhoto(ctx, "j1", sha, 2000, 3000, data[2000:]); err != nil || !p.Whole {
		t.Fatal(p, err)
	}
	got, size, err := c.FetchPhoto(ctx, "j1", sha, 2500, 1000)
	if err != nil || size != 3000 || !bytes.Equal(got, data[2500:]) {
		t.Errorf("%d bytes of %d, %v", len(got), size, err)
	}
	spoil = true
	if _, _, err := c.FetchPhoto(ctx, "j1", sha, 0, 1000); !errors.Is(err, replica.ErrUnreachable) {
		t.Errorf("a piece that was changed on the way: %v", err)
	}
}

// What the network says is told without the address, which may hold a cursor, and without the layers it came through.
func TestPlainNetworkErrors(t *testing.T) {
	c, err := wire.NewHTTP("http://127.0.0.1:1", "", signedIn)
	if err != nil {
		t.Fatal(err)
	}
	_, err = c.Pull(context.Background(), replica.Cursor{Epoch: "e", N: 7}, 1000)
	if err == nil || err.Error() != "no connection to the server at 127.0.0.1:1: connection refused" {
		t.Errorf("%v", err)
	}
}

// The server's key is the one that its header names, and what a device asks tokens with is signed by it.
func TestJoin(t *testing.T) {
	key := bytes.Repeat([]byte{3}, 32)
	named := wire.KeyID(key)
	pub, priv, err := ed25519.GenerateKey(nil)
	if err != nil {
		t.Fatal(err)
	}
	signed := func(p wire.Proof, text func(int64) ([]byte, error)) {
		m, err := text(p.At)
		if err != nil || p.At != 77 || !ed25519.Verify(pub, m, p.Sig) {
			t.Errorf("the proof %+v is not by the device, %v", p, err)
		}
	}
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Header.Get("Authorization") != "" {
			t.Error("a token where none is needed")
		}
		w.Header().Set(wire.HeaderServer, named)
		var out any = wire.Tokens{RefreshToken: "r"}
		in := json.NewDecoder(r.Body)
		switch r.URL.Path {
		case "/v1/hello":
			out = wire.Hello{Time: 77}
		case "/v1/enrol":
			var q wire.EnrolRequest
			if err := in.Decode(&q); err != nil {
				t.Error(err)
			}
			signed(q.Proof, q.Signed)
			out = wire.EnrolAnswer{Company: "c", ServerKey: key, Tokens: wire.Tokens{RefreshToken: "r"}}
		case "/v1/sign-in":
			var q wire.SignInRequest
			if err := in.Decode(&q); err != nil || q.Password != "p" {
				t.Errorf("%+v, %v", q, err)
			}
			signed(q.Proof, q.Signed)
		case "/v1/refresh":
			var q wire.RefreshRequest
			if err := in.Decode(&q); err != nil {
				t.Error(err)
			}
			signed(q.Proof, q.Signed)
		default:
			t.Errorf("asked for %s", r.URL)
		}
		b, err := json.Marshal(out)
		if err != nil || bytes.Contains(b, priv.Seed()) {
			t.Error(err)
		}
		answer(w, wire.MediaJSON, 200, string(b))
	}))
	defer s.Close()
	c, err := wire.NewHTTP(s.URL, "", signedIn)
	if err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	ask := wire.EnrolRequest{Code: "x", Device: "d", PublicKey: pub, Key: priv}
	a, err := c.Enrol(ctx, ask)
	if err != nil || a.Company != "c" || a.RefreshToken != "r" {
		t.Errorf("%+v, %v", a, err)
	}
	if got, err := c.SignIn(ctx, wire.SignInRequest{Login: "l", Password: "p", Device: "d", Key: priv}); err != nil || got.RefreshToken != "r" {
		t.Errorf("%+v, %v", got, err)
	}
	if got, err := c.Refresh(ctx, wire.RefreshRequest{RefreshToken: "r", Device: "d", Key: priv}); err != nil || got.RefreshToken != "r" {
		t.Errorf("%+v, %v", got, err)
	}
	named = "another"
	if _, err := c.Enrol(ctx, ask); !errors.Is(err, replica.ErrUnreachable) {
		t.Errorf("a server that names another key: %v", err)
	}
}

func TestAddresses(t *testing.T) {
	for base, want := range map[string]error{
		"https://tacet.example.org":  nil,
		"https://tacet.example.org/": nil,
		"http://127.0.0.1:8080":      nil,
		"http://localhost:8080":      nil,
		"http://[::1]:8080":          nil,
		"http://192.168.1.5:8080":    replica.ErrInsecure,
		"http://localhost.evil.test": replica.ErrInsecure,
	} {
		if _, err := wire.NewHTTP(base, "", signedIn); !errors.Is(err, want) {
			t.Errorf("%s: %v, want %v", base, err, want)
		}
	}
	for _, base := range []string{"", "tacet.example.org", "ftp://x", "https://", "://"} {
		var in *jobs.InputError
		if _, err := wire.NewHTTP(base, "", signedIn); !errors.As(err, &in) {
			t.Errorf("%q: %v", base, err)
		}
	}
}
