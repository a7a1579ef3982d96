package app_test

import (
	"encoding/json"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/app"
	"tacet/sync/wire"
)

// Everything that opens a door is used once, rightly and wrongly; none of it may stand in any log line, and every line is JSON that a
// program can read.
func TestNoSecretInLogs(t *testing.T) {
	w := emptyWorld(t, app.Config{})
	secrets := map[string]string{"password": password, "wrong password": "wicker plum anchor", "new password": "another slate gutter", "set-up code": w.SetUpCode, "wrong set-up code": "ABCD-EFGH-JKMN-PQRS"}
	b := &browser{w: w}
	form := url.Values{"code": {secrets["wrong set-up code"]}, "company": {"Firm (invented)"}, "name": {"Owner"}, "login": {"an.owner"}, "password": {password}}
	b.post("/set-up", form, nil)
	form.Set("code", w.SetUpCode)
	b.post("/set-up", form, nil)
	b.post("/sign-in", url.Values{"login": {"an.owner"}, "password": {secrets["wrong password"]}}, nil)
	b.post("/sign-in", url.Values{"login": {secrets["wrong password"]}, "password": {password}}, nil) // typed into the wrong field
	b = w.signIn("an.owner")
	_, secrets["cookie"], _ = strings.Cut(b.cookie, ".")
	secrets["authenticator"] = shown(t, b.get("/account/factor"))
	enrol := b.post("/account/enrol", nil, nil)
	secrets["enrolment code"] = shown(t, enrol)
	d := &tablet{w: w, id: "01890a5d-ac96-774b-bcce-b302099a8057", key: newKey(t)}
	d.join(secrets["enrolment code"])
	secrets["access token"], secrets["refresh token"] = d.answer.AccessToken, d.answer.RefreshToken
	job, _, _ := jobToTry(t, d)
	secrets["pin"] = "48151623"
	w.call(request{method: "PUT", path: "/v1/pin", token: d.answer.AccessToken, media: wire.MediaJSON, body: []byte(`{"pin":"48151623"}`)})
	w.call(request{method: "GET", path: "/v1/people", token: d.answer.RefreshToken})
	w.call(request{method: "GET", path: "/v1/pull?cursor=" + d.answer.RefreshToken, token: d.answer.AccessToken})
	w.call(request{method: "GET", path: "/v1/nothing/" + d.answer.RefreshToken})
	link := shown(t, b.post("/guests", url.Values{"job": {job}, "name": {"client"}, "days": {"3"}}, nil))
	secrets["guest link"] = link[strings.LastIndex(link, ".")+1:]
	(&browser{w: w}).get(link[strings.Index(link, "/guest/"):])
	(&browser{w: w}).post(link[strings.Index(link, "/guest/"):], nil, nil)
	(&browser{w: w}).post("/guest/x."+secrets["wrong password"], nil, nil)
	b.post("/account/password", url.Values{"own": {password}, "password": {secrets["new password"]}, "again": {secrets["new password"]}}, nil)
	for _, name := range []string{"token.pem", "record.pem"} {
		text, err := os.ReadFile(filepath.Join(w.folder.Dir, "keys", name))
		if err != nil {
			t.Fatal(err)
		}
		secrets[name] = strings.Split(string(text), "\n")[1]
	}
	w.user(accountsCompany(t, w), "m.reed", jobs.Site)
	log := w.log.String()
	lines := 0
	for line := range strings.Lines(log) {
		lines++
		var v map[string]any
		if err := json.Unmarshal([]byte(line), &v); err != nil || v["time"] == nil || v["level"] == nil || v["msg"] == nil {
			t.Errorf("a line that no program can read: %s", line)
		}
	}
	if lines < 20 {
		t.Errorf("only %d lines were logged", lines)
	}
	for name, s := range secrets {
		if len(s) < 8 {
			t.Fatalf("%s is %q: nothing to look for", name, s)
		}
		for _, form := range []string{s, strings.ReplaceAll(s, "-", ""), url.QueryEscape(s), url.PathEscape(s)} {
			if strings.Contains(log, form) {
				t.Errorf("the %s stands in the log", name)
				break
			}
		}
	}
}

// accountsCompany is the one company of a server that was set up on its pages.
func accountsCompany(t *testing.T, w *world) accounts.Company {
	t.Helper()
	list, err := w.Accounts.Companies(t.Context())
	if err != nil || len(list) != 1 {
		t.Fatalf("companies %v, %v", list, err)
	}
	return list[0]
}
