package pages_test

import (
	"bytes"
	"encoding/json"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"tacet/server/pages/pagestest"
)

const (
	lantern = "/jobs/" + pagestest.Job
	c1      = lantern + "/s/C1"
)

// reply is an answer of the app.
type reply struct {
	status int
	header http.Header
	body   string
}

func send(t *testing.T, w *pagestest.World, req *http.Request) reply {
	t.Helper()
	res, err := w.App.Test(req, -1)
	if err != nil {
		t.Fatal(err)
	}
	body, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	if err := res.Body.Close(); err != nil {
		t.Fatal(err)
	}
	return reply{res.StatusCode, res.Header, string(body)}
}

func get(t *testing.T, w *pagestest.World, path string) reply {
	t.Helper()
	return send(t, w, httptest.NewRequest(http.MethodGet, path, nil))
}

// page gets a page that must be there.
func page(t *testing.T, w *pagestest.World, path string) *node {
	t.Helper()
	r := get(t, w, path)
	if r.status != http.StatusOK {
		t.Fatalf("GET %s: %d\n%s", path, r.status, r.body)
	}
	return parsePage(t, r.body)
}

// post sends a form as a page of ours does.
func post(t *testing.T, w *pagestest.World, path string, form url.Values) reply {
	t.Helper()
	req := httptest.NewRequest(http.MethodPost, path, strings.NewReader(form.Encode()))
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Sec-Fetch-Site", "same-origin")
	return send(t, w, req)
}

// upload sends a form with photos.
func upload(t *testing.T, w *pagestest.World, path string, form url.Values, photos ...[]byte) reply {
	t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for name, values := range form {
		for _, v := range values {
			if err := m.WriteField(name, v); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, p := range photos {
		f, err := m.CreateFormFile("photos", "photo.jpg")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.Write(p); err != nil {
			t.Fatal(err)
		}
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	req := httptest.NewRequest(http.MethodPost, path, &b)
	req.Header.Set("Content-Type", m.FormDataContentType())
	req.Header.Set("Origin", "http://example.com") // the host of httptest's requests
	return send(t, w, req)
}

// mustSee fails unless the reply leads to another page.
func (r reply) mustSee(t *testing.T, path string) {
	t.Helper()
	if r.status != http.StatusSeeOther || r.header.Get("Location") != path {
		t.Fatalf("answered %d to %q, want 303 to %q\n%s", r.status, r.header.Get("Location"), path, r.body)
	}
}

func lanternWorld(t *testing.T) *pagestest.World {
	t.Helper()
	w := pagestest.New(t, pagestest.Options{})
	w.Lantern()
	return w
}

// quote writes a text as JSON.
func quote(s string) string {
	b, err := json.Marshal(s)
	if err != nil {
		panic(err) // a string always has a JSON form
	}
	return string(b)
}

func urlQuery(s string) string { return url.QueryEscape(s) }
