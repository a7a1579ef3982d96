package api_test

import (
	"encoding/json"
	"io"
	"log/slog"
	"net/http/httptest"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/gofiber/fiber/v2"

	"tacet/server/accounts"
	"tacet/server/api"
	"tacet/sync/storetest"
	"tacet/sync/wire"
)

func newServer(t *testing.T) *api.Server {
	t.Helper()
	keys, err := accounts.LoadKeys(filepath.Join(t.TempDir(), "keys"))
	if err != nil {
		t.Fatal(err)
	}
	st := storetest.SQLite(t)
	a, err := accounts.New(accounts.Config{DB: st.DB(), Record: st, Keys: keys})
	if err != nil {
		t.Fatal(err)
	}
	return api.New(api.Deps{Store: st, Accounts: a, Log: slog.New(slog.DiscardHandler), Now: time.Now})
}

func get(t *testing.T, app *fiber.App, q ...string) (status int, header map[string][]string, body []byte) {
	t.Helper()
	req := httptest.NewRequest(q[0], q[1], nil)
	for i := 2; i+1 < len(q); i += 2 {
		if q[i] == "Host" {
			req.Host = q[i+1]
			continue
		}
		req.Header.Set(q[i], q[i+1])
	}
	res, err := app.Test(req, -1)
	if err != nil {
		t.Fatal(err)
	}
	body, err = io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res.StatusCode, res.Header, body
}

type document struct {
	OpenAPI string `json:"openapi"`
	Paths   map[string]map[string]struct {
		Summary    string
		Parameters []struct{ Name, In string }
		Responses  map[string]any
		Security   []map[string][]string
	}
	Components struct{ Schemas map[string]any }
}

func readDocument(t *testing.T, s *api.Server) (document, string) {
	t.Helper()
	status, _, body := get(t, s.App, "GET", "/openapi.json")
	var d document
	if err := json.Unmarshal(body, &d); err != nil || status != 200 {
		t.Fatalf("openapi.json: %d, %v", status, err)
	}
	return d, string(body)
}

// Every route of the app is in the document and every operation of the document is a route.
func TestEveryRouteIsDescribed(t *testing.T) {
	s := newServer(t)
	s.Mount(func(r fiber.Router) {
		r.Get("/jobs/:job/surfaces/:surface", func(c *fiber.Ctx) error { return nil })
		r.Get("/jobs/:job/section-:width.svg", func(c *fiber.Ctx) error { return nil })
		r.Post("/jobs/:job/surfaces/:surface", func(c *fiber.Ctx) error { return nil })
	}, func(c *fiber.Ctx, err error) error { return err })
	d, text := readDocument(t, s)
	if !strings.HasPrefix(d.OpenAPI, "3.1.") {
		t.Errorf("version is %q", d.OpenAPI)
	}
	param := regexp.MustCompile(`:(\w+)`)
	described := map[string]bool{}
	for path, item := range d.Paths {
		for method := range item {
			described[strings.ToUpper(method)+" "+path] = true
		}
	}
	served := map[string]bool{}
	for _, r := range s.App.GetRoutes(true) {
		if r.Method == fiber.MethodHead {
			continue
		}
		path := param.ReplaceAllString(r.Path, "{$1}")
		served[r.Method+" "+path] = true
		op, ok := d.Paths[path][strings.ToLower(r.Method)]
		if !ok {
			t.Errorf("%s %s is not described", r.Method, r.Path)
			continue
		}
		if op.Summary == "" || len(op.Responses) < 2 {
			t.Errorf("%s %s is hardly described", r.Method, r.Path)
		}
		for _, name := range param.FindAllStringSubmatch(r.Path, -1) {
			found := false
			for _, p := range op.Parameters {
				found = found || p.Name == name[1] && p.In == "path"
			}
			if !found {
				t.Errorf("%s %s: parameter %s is not described", r.Method, r.Path, name[1])
			}
		}
	}
	for op := range described {
		if !served[op] {
			t.Errorf("%s is described and not served", op)
		}
	}
	for _, ref := range regexp.MustCompile(`#/components/schemas/(\w+)`).FindAllStringSubmatch(text, -1) {
		if d.Components.Schemas[ref[1]] == nil {
			t.Errorf("schema %s is named and missing", ref[1])
		}
	}
}

// What the document says about tokens is what the server does: a route that needs one refuses requests without.
func TestDescribedSecurityIsEnforced(t *testing.T) {
	s := newServer(t)
	d, _ := readDocument(t, s)
	fill := regexp.MustCompile(`\{\w+\}`)
	for path, item := range d.Paths {
		for method, op := range item {
			status, _, body := get(t, s.App, strings.ToUpper(method), fill.ReplaceAllString(path, "x"))
			if needs := len(op.Security) > 0; needs != (status == 401) {
				t.Errorf("%s %s without a token: %d %s; the document says a token is needed: %t", method, path, status, body, needs)
			}
		}
	}
}

// The members of requests in the document are those that the server takes, and no others.
func TestDescribedRequestsAreThoseTaken(t *testing.T) {
	s := newServer(t)
	d, _ := readDocument(t, s)
	for name, v := range map[string]any{"EnrolRequest": wire.EnrolRequest{}, "SignInRequest": wire.SignInRequest{}, "RefreshRequest": wire.RefreshRequest{},
		"EnrolAnswer": wire.EnrolAnswer{}, "Tokens": wire.Tokens{}, "Hello": wire.Hello{Kinds: map[string]int{"x": 1}}, "People": wire.People{}, "PinRequest": wire.PinRequest{}, "SuccessorRequest": wire.SuccessorRequest{}, "PinSignInRequest": wire.PinSignInRequest{}} {
		b, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		var keys map[string]any
		if err := json.Unmarshal(b, &keys); err != nil {
			t.Fatal(err)
		}
		schema, _ := d.Components.Schemas[name].(map[string]any)
		properties, _ := schema["properties"].(map[string]any)
		for k := range keys {
			if properties[k] == nil {
				t.Errorf("%s: %s is not described", name, k)
			}
		}
		for k := range properties {
			if _, ok := keys[k]; !ok {
				t.Errorf("%s: %s is described and does not exist", name, k)
			}
		}
	}
}
