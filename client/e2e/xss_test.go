package e2e_test

import (
	"encoding/json"
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/app"
)

// payloads are texts that would run a script on a page that writes them as they are: elements, attributes, addresses and ways out of where
// a text stands, in several dresses. A hundred, made from the patterns; each would call the function called here.
func payloads() []string {
	const run = "window.broken=1"
	shapes := []string{
		`<script>%s</script>`, `<SCRIPT>%s</SCRIPT>`, `<img src=x onerror=%s>`, `<svg onload=%s>`, `<svg/onload=%s>`, `<body onload=%s>`, `<input autofocus onfocus=%s>`,
		`<details open ontoggle=%s><summary>x</summary></details>`, `<video><source onerror=%s></video>`, `<a href="javascript:%s">x</a>`, `<iframe srcdoc="<script>parent.%s</script>"></iframe>`,
		`<style onload=%s></style>`, `<marquee onstart=%s>x</marquee>`, `<math><a xlink:href="javascript:%s">x</a></math>`, `<form action="javascript:%s"><button>x</button></form>`,
		`<object data="javascript:%s"></object>`, `<script src="data:text/javascript,%s"></script>`, `<template><script>%s</script></template>`, `{{constructor.constructor('%s')()}}`, `${%s}`,
	}
	ways := []string{"", `">`, `'>`, `</title>`, `</textarea>`}
	var list []string
	for _, s := range shapes {
		for _, w := range ways {
			list = append(list, w+fmt.Sprintf(s, run))
		}
	}
	return list
}

// A hundred payloads in every text that people write on the server, on its pages in a real browser: none runs, and the page's own policy
// has nothing to refuse, because nothing gets as far as that.
func TestNothingWrittenRuns(t *testing.T) {
	list := payloads()
	if len(list) != 100 {
		t.Fatalf("%d payloads", len(list))
	}
	b := open(t)
	s, err := app.Start(t.Context(), app.Config{Folder: app.Folder{Dir: t.TempDir()}, Listen: "127.0.0.1:0"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Stop(); err != nil {
			t.Error(err)
		}
	})
	const password = "slate gutter ninety"
	firm, err := s.Accounts.AddCompany(t.Context(), list[0])
	if err != nil {
		t.Fatal(err)
	}
	owner, err := s.Accounts.AddUser(t.Context(), accounts.User{Company: firm.ID, Login: "an.owner", Name: list[2], Role: jobs.Owner}, password)
	if err != nil {
		t.Fatal(err)
	}
	short := 0
	for i, p := range list {
		if len(p) > 100 {
			continue // longer than a name may be
		}
		short++
		_, err := s.Accounts.AddGuest(t.Context(), accounts.Who{Company: firm.ID, Person: owner.Person}, "x", p, time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		if i%10 == 0 {
			if _, err := s.Accounts.AddUser(t.Context(), accounts.User{Company: firm.ID, Login: fmt.Sprintf("p%d", i), Name: p, Role: jobs.Site}, password); err != nil {
				t.Fatal(err)
			}
		}
	}
	author := jobs.Author{Person: owner.Person, Role: jobs.Owner}
	job, err := s.Replica.NewID()
	if err != nil {
		t.Fatal(err)
	}
	q := func(s string) string { return quoteJSON(t, s) }
	first := q(list[5])
	edges, err := jobs.Import([]byte(`{"name":` + first + `,"site":` + first + `,"rooms":[{"code":"R1","name":` + first + `}],
		"surfaces":[{"code":"W1","kind":"wall","room":"R1","width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Replica.Record(t.Context(), firm.ID, author, job, edges); err != nil {
		t.Fatal(err)
	}
	for i, p := range list {
		for n, e := range []string{
			`{"do":"note","surface":"W1","text":` + q(p) + `}`,
			`{"do":"substitute","surface":"W1","layer":1,"state":"asked","reason":` + q(p) + `,"note":` + q(p) + `,"layer_new":{"kind":"board","thickness_mm":15,"mass_kg_m2":9.8}}`,
			`{"do":"check","surface":"W1","layer":1,"check":"K01","result":"fail","note":` + q(p) + `,"certificate":` + q(p) + `}`,
			`{"do":"complaint","words":` + q(p) + `,"kind":"voices","received":"2026-11-20T10:00:00Z","surface":"W1"}`,
			`{"do":"deliver","surface":"W1","layer":1,"material":` + q(cut(p, 100)) + `,"quantity":1,"unit":"sheet","batch":` + q(cut(p, 60)) + `}`,
		} {
			if n == 1 && i >= 50 {
				continue // of questions about one layer there can be 64, and half the payloads are enough there
			}
			if _, err := s.Replica.Record(t.Context(), firm.ID, author, job, rawEdges(e)); err != nil {
				t.Fatalf("refused: %.120s: %v", e, err)
			}
		}
	}
	host := strings.TrimPrefix(s.URL, "http://")
	b.visit(s.URL + "/sign-in")
	b.call("type", chromedp.SendKeys(chromedp.CSS(`[name=login]`), "an.owner"), chromedp.SendKeys(chromedp.CSS(`[name=password]`), password))
	b.tap("button.do")
	seen := 0
	for _, path := range []string{"/", "/people", "/guests", "/privacy", "/privacy/looks", "/devices", "/account", "/add-person", "/queue", "/jobs/" + job, "/jobs/" + job + "/history", "/jobs/" + job + "/s/W1",
		"/jobs/" + job + "/s/W1/history", "/jobs/" + job + "/s/W1/1/check/K01", "/jobs/" + job + "/disputes", "/sign-in?next=" + url.QueryEscape(list[1]), "/s?code=" + url.QueryEscape(list[1])} {
		b.visit(s.URL + path)
		if eval[bool](b, "window.broken===1") {
			t.Errorf("%s runs what somebody wrote", path)
		}
		seen += strings.Count(eval[string](b, "document.body.textContent"), "window.broken=1")
	}
	if seen < 3*short {
		t.Errorf("the pages show payloads %d times only: little was tried", seen)
	}
	t.Logf("100 payloads, shown %d times on 15 pages, none ran", seen)
	b.quiet(host)
}

func cut(s string, n int) string { return s[:min(len(s), n)] }

func quoteJSON(t *testing.T, s string) string {
	t.Helper()
	b, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func rawEdges(edge string) []json.RawMessage { return []json.RawMessage{json.RawMessage(edge)} }
