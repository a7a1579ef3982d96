package phone_test

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http/httptest"
	"path"
	"regexp"
	"strings"
	"testing"

	"github.com/gofiber/fiber/v2"

	"tacet/server/api"
	"tacet/server/phone"
)

// get asks the phone's routes.
func get(t *testing.T, app *fiber.App, at string) (status int, header map[string][]string, body []byte) {
	t.Helper()
	res, err := app.Test(httptest.NewRequest("GET", at, nil), -1)
	if err != nil {
		t.Fatal(err)
	}
	if body, err = io.ReadAll(res.Body); err != nil {
		t.Fatal(err)
	}
	return res.StatusCode, res.Header, body
}

func serving(t *testing.T) *fiber.App {
	t.Helper()
	app := fiber.New(fiber.Config{DisableStartupMessage: true, Immutable: true})
	app.Use(api.SecureHeaders)
	phone.New().Register(app)
	return app
}

// The whole program of the phone is fetched at once and kept: every file that the service worker names is there, nothing comes from
// elsewhere, no script stands in the page, and all of it together weighs less than a photo.
func TestWeightAndPolicy(t *testing.T) {
	app := serving(t)
	_, header, shell := get(t, app, "/phone")
	policy := strings.Join(header["Content-Security-Policy"], "")
	if !strings.Contains(policy, "script-src 'self'") || strings.Contains(policy, "unsafe") || strings.Contains(policy, "*") || !strings.Contains(policy, "default-src 'none'") {
		t.Errorf("policy %q", policy)
	}
	if regexp.MustCompile(`<script[^>]*>[^<]|style=|\son[a-z]+="`).Match(shell) || strings.Contains(string(shell), "//") && regexp.MustCompile(`(src|href)="(https?:)?//`).Match(shell) {
		t.Error("a script or a style stands in the page, or it asks somebody else")
	}
	_, header, worker := get(t, app, "/phone/sw.js")
	if header["Service-Worker-Allowed"] == nil || strings.Contains(string(worker), "VERSION") || strings.Contains(string(worker), "FILES") {
		t.Error("the service worker has no version")
	}
	version := phone.New().Version()
	names := regexp.MustCompile(`"([^"]+\.(?:js|css|svg|png))"`).FindAllSubmatch(worker, -1)
	plain, packed := len(shell)+len(worker), 0
	scripts := 0
	for _, m := range names {
		status, header, body := get(t, app, "/phone/"+version+"/"+string(m[1]))
		if status != 200 || len(body) == 0 || len(header["Content-Type"]) == 0 {
			t.Errorf("%s: %d, %d bytes, %v", m[1], status, len(body), header["Content-Type"])
		}
		plain += len(body)
		if path.Ext(string(m[1])) == ".js" {
			scripts += len(body)
			var z bytes.Buffer
			w := gzip.NewWriter(&z)
			if _, err := w.Write(body); err != nil {
				t.Fatal(err)
			}
			if err := w.Close(); err != nil {
				t.Fatal(err)
			}
			packed += z.Len()
		}
	}
	if len(names) < 20 || plain > 160_000 || scripts > 115_000 || packed > 45_000 {
		t.Errorf("%d files, %d bytes, of these %d of scripts (%d packed)", len(names), plain, scripts, packed)
	}
	t.Logf("%d files, %d bytes, of these %d of scripts (%d packed)", len(names), plain, scripts, packed)
	if status, _, _ := get(t, app, "/phone/older/main.js"); status != 404 {
		t.Errorf("a file of another version: %d", status)
	}
}

// What the manifest names is there.
func TestManifest(t *testing.T) {
	app := serving(t)
	_, header, body := get(t, app, "/phone/manifest.webmanifest")
	if !strings.HasPrefix(strings.Join(header["Content-Type"], ""), "application/manifest+json") {
		t.Error(header)
	}
	icons := regexp.MustCompile(`"src":"([^"]+)"`).FindAllSubmatch(body, -1)
	if len(icons) != 2 {
		t.Fatalf("%s", body)
	}
	for _, m := range icons {
		if status, header, data := get(t, app, string(m[1])); status != 200 || !bytes.HasPrefix(data, []byte("\x89PNG")) {
			t.Errorf("%s: %d %v", m[1], status, header)
		}
	}
}
