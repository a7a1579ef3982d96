package main

import (
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"tacet/client/home/hometest"
	"tacet/jobs"
)

// One tablet, two people, no server any more: its pages open for whoever gives their PIN, show and record as that person alone, and close
// when it is handed on.
func TestSharedDevice(t *testing.T) {
	server, h := enrolled(t, map[string]jobs.Role{"idris": jobs.Site, "maren": jobs.Supervisor})
	job, err := h.NewJob(t.Context(), []json.RawMessage{[]byte(`{"do":"job","name":"Beside"}`)})
	if err != nil {
		t.Fatal(err)
	}
	pins := map[string]string{"idris": "402917", "maren": "771302"}
	set := func(login string) {
		t.Helper()
		if r := (&pinSetCmd{PinStdin: true}).Run(&session{stdio: stdio{In: strings.NewReader(pins[login] + "\n"), Out: io.Discard, Err: io.Discard}, ctx: t.Context(), dir: h.Dir}); r != nil {
			t.Fatal(r)
		}
	}
	set("idris")
	if err := h.SignIn(t.Context(), "maren", hometest.Password); err != nil {
		t.Fatal(err)
	}
	set("maren")
	server.Stop()

	printed := openHere(t, h.Dir)
	base, _, _ := strings.Cut(printed, "/open?")
	cookies := map[string]string{}
	browse := func(method, path string, form url.Values) (int, string) {
		t.Helper()
		req, err := http.NewRequestWithContext(t.Context(), method, base+path, strings.NewReader(form.Encode()))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Sec-Fetch-Site", "same-origin")
		for k, v := range cookies {
			req.AddCookie(&http.Cookie{Name: k, Value: v})
		}
		client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
		res, err := client.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		defer res.Body.Close()
		for _, c := range res.Cookies() {
			cookies[c.Name] = c.Value
		}
		body, err := io.ReadAll(res.Body)
		if err != nil {
			t.Fatal(err)
		}
		return res.StatusCode, string(body)
	}
	idris := url.Values{"login": {"idris"}, "password": {pins["idris"]}}
	if status, _ := browse("POST", "/sign-in", idris); status != 422 {
		t.Errorf("a PIN in a browser that was not opened with the address: %d", status)
	}
	browse("GET", strings.TrimPrefix(printed, base), nil)
	if status, _ := browse("GET", "/", nil); status != 303 {
		t.Errorf("before a PIN the pages answer %d", status)
	}
	if status, _ := browse("POST", "/jobs/"+job+"/note", url.Values{"text": {"by nobody"}}); status == 200 {
		t.Error("something was recorded before a PIN")
	}
	if status, page := browse("GET", "/sign-in", nil); status != 200 || !strings.Contains(page, ">PIN<") || strings.Contains(page, "authenticator") {
		t.Errorf("the page that asks: %d %.500s", status, page)
	}
	if status, _ := browse("POST", "/sign-in", url.Values{"login": {"idris"}, "password": {pins["maren"]}}); status != 422 {
		t.Errorf("another's PIN: %d", status)
	}
	if status, _ := browse("POST", "/sign-in", idris); status != 303 {
		t.Fatalf("the right PIN: %d", status)
	}
	if status, page := browse("GET", "/", nil); status != 200 || !strings.Contains(page, "IDRIS") || strings.Contains(page, "MAREN") {
		t.Errorf("after it: %d %.300s", status, page)
	}
	if status, _ := browse("GET", "/queue", nil); status != 403 {
		t.Errorf("a supervisor's page for site, while the supervisor is the one who signed in last: %d", status)
	}
	if status, _ := browse("POST", "/jobs/"+job+"/note", url.Values{"text": {"by idris"}}); status != 303 {
		t.Errorf("a note: %d", status)
	}
	browse("POST", "/sign-out", nil)
	if status, _ := browse("GET", "/", nil); status != 303 {
		t.Errorf("after handing it on: %d", status)
	}
	if status, _ := browse("POST", "/sign-in", url.Values{"login": {"maren"}, "password": {pins["maren"]}}); status != 303 {
		t.Fatalf("the other's PIN: %d", status)
	}
	if status, _ := browse("GET", "/queue", nil); status != 200 {
		t.Errorf("a supervisor's page for the supervisor: %d", status)
	}
	j, err := h.Replica.Job(t.Context(), h.Me.Company, job)
	if err != nil {
		t.Fatal(err)
	}
	notes := j.Of("note")
	if len(notes) != 1 || notes[0].Role != jobs.Site || notes[0].What.(*jobs.Note).Text != "by idris" {
		t.Errorf("recorded: %d notes", len(notes))
	}
}
