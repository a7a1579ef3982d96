package e2e_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/app"
	"tacet/server/pages/pagestest"
)

const deskPassword = "slate gutter ninety"

type typed struct{ name, text string }

// fill types into the fields of the page that is open.
func (b *browser) fill(fields ...typed) {
	b.t.Helper()
	for _, f := range fields {
		b.call("type "+f.name, chromedp.SendKeys(chromedp.CSS(`[name="`+f.name+`"]`), f.text))
	}
}

// look looks at the page that is open, on a phone by day and at a desk by night: the rules of accessibility, targets for a thumb, and nothing
// wider than the screen. Source is that of axe.
func (b *browser) look(source, at string) {
	b.t.Helper()
	for _, width := range []int64{360, 1280} {
		scheme := "light"
		if width == 1280 {
			scheme = "dark"
		}
		b.call("set the screen", chromedp.EmulateViewport(width, 800),
			call(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}))
		eval[bool](b, source+";true")
		var found []violation
		if err := json.Unmarshal([]byte(eval[string](b, axeRun, chromedp.EvalAwaitPromise)), &found); err != nil {
			b.t.Fatal(err)
		}
		for _, v := range found {
			for _, n := range v.Nodes[:min(2, len(v.Nodes))] {
				b.t.Errorf("%s at %d px, %s: %s: %.300s\n%s", at, width, scheme, v.ID, n.HTML, n.Summary)
			}
		}
		if got := eval[int64](b, `document.documentElement.scrollWidth`); got > width {
			b.t.Errorf("%s is %d px wide on a screen of %d", at, got, width)
		}
		if dir := os.Getenv("TACET_SHOTS"); dir != "" {
			shot, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
			if err == nil {
				err = os.WriteFile(filepath.Join(dir, fmt.Sprintf("desk%s-%d.png", strings.ReplaceAll(at, "/", "-"), width)), shot, 0o600)
			}
			if err != nil {
				b.t.Error(err)
			}
		}
	}
	for _, e := range eval[[]string](b, fmt.Sprintf(small, 44)) {
		b.t.Errorf("%s: %s", at, e)
	}
}

// freshServer is a server that nobody has set up.
func freshServer(t *testing.T) *app.Running {
	t.Helper()
	s, err := app.Start(t.Context(), app.Config{Folder: app.Folder{Dir: t.TempDir()}, Listen: "127.0.0.1:0"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Stop(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// The pages about people, devices, guests and one's own account, on a real server: the rules of accessibility, targets for a thumb, and
// nothing wider than the screen.
func TestDeskPages(t *testing.T) {
	source := axe(t)
	b := open(t)
	s := freshServer(t)
	const password = deskPassword
	b.visit(s.URL + "/set-up")
	fill := b.fill
	look := func(at string) {
		t.Helper()
		b.look(source, at)
	}
	look("/set-up")
	fill(typed{"code", s.SetUpCode}, typed{"company", "Quillmarsh Linings (invented)"}, typed{"name", "Maren Tolleby"}, typed{"login", "maren"}, typed{"password", password})
	b.tap("form.form button.do")
	look("/sign-in")
	fill(typed{"login", "maren"}, typed{"password", password})
	b.tap("form.form button.do")
	firms, err := s.Accounts.Companies(t.Context())
	if err != nil || len(firms) != 1 {
		t.Fatalf("set up on the page: %v, %v", firms, err)
	}
	u, err := s.Accounts.AddUser(t.Context(), accounts.User{Company: firms[0].ID, Login: "idris", Name: "Idris Vaugh", Role: jobs.Site}, password)
	if err != nil {
		t.Fatal(err)
	}
	owner, err := s.Accounts.UserByLogin(t.Context(), "maren")
	if err != nil {
		t.Fatal(err)
	}
	job, err := s.Replica.NewID()
	if err != nil {
		t.Fatal(err)
	}
	edges, err := jobs.Import([]byte(`{"name":"7b Lantern Row (invented)","surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Replica.Record(t.Context(), firms[0].ID, jobs.Author{Person: owner.Person, Role: jobs.Owner}, job, edges); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Accounts.AddGuest(t.Context(), accounts.Who{Company: firms[0].ID, Person: owner.Person}, job, "Building control", 48*time.Hour); err != nil {
		t.Fatal(err)
	}
	complaint := `{"do":"complaint","words":"Mrs Lindqvist of flat 3 hears every step on the landing, at night most of all.","kind":"footsteps","received":"phone","from":"Mrs Lindqvist"}`
	if _, err := s.Replica.Record(t.Context(), firms[0].ID, jobs.Author{Person: owner.Person, Role: jobs.Owner}, job, []json.RawMessage{json.RawMessage(complaint)}); err != nil {
		t.Fatal(err)
	}
	if err := s.Accounts.Note(t.Context(), firms[0].ID, owner.Person, "the history of a job", job); err != nil {
		t.Fatal(err)
	}
	at := "/people/" + u.Person
	for _, path := range []string{"/people", "/add-person", at, at + "/password", at + "/role", at + "/factor", at + "/access", at + "/jobs", "/devices", "/guests", "/account", "/account/password", "/account/factor", "/enrol",
		"/privacy", "/privacy/times", "/privacy/old", "/privacy/looks", "/privacy/search", at + "/data", "/aside"} {
		b.visit(s.URL + path)
		look(strings.ReplaceAll(path, u.Person, "person"))
	}
	b.visit(s.URL + at)
	b.tap(`form[action="` + at + `/code"] button`)
	look("/people/person/code")
	b.visit(s.URL + "/guests")
	fill(typed{"name", "The client"})
	b.tap("form.form button.do")
	look("/guests, a link")
	// News: nothing set, then set and listed. The mail server is on nobody's machine, so a notice waits.
	b.visit(s.URL + "/notices")
	look("/notices, nothing set")
	if err := s.Accounts.SetMailServer(t.Context(), firms[0].ID, accounts.MailServer{Host: "127.0.0.1", Port: 9, TLS: accounts.StartTLS, Sender: "tacet@example.org"}, false); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Accounts.SetHook(t.Context(), firms[0].ID, "https://127.0.0.1:9/news", []string{"to_see"}, false); err != nil {
		t.Fatal(err)
	}
	b.visit(s.URL + "/notices")
	b.tap(`form[action="/notices/test"] button`)
	look("/notices")
	for _, path := range []string{"/notices/mail", "/notices/call", "/account/notices"} {
		b.visit(s.URL + path)
		look(path)
	}
	fill(typed{"mail", "maren@example.org"}, typed{"quiet_from", "20:00"}, typed{"quiet_to", "06:30"})
	b.tap("form.form button.do")
	look("/account/notices, asked for")
	wish, err := s.Accounts.NoticeWish(t.Context(), firms[0].ID, owner.Person)
	if err != nil || wish == nil {
		t.Fatalf("the wish: %v, %v", wish, err)
	}
	for at, path := range map[string]string{"/notices/confirm": "/notices/confirm/" + s.Accounts.ConfirmLink(*wish), "/notices/stop": "/notices/stop/" + s.Accounts.StopLink(*wish)} {
		b.visit(s.URL + path)
		look(at)
	}
	b.visit(s.URL + "/privacy/search")
	fill(typed{"words", "lindqvist"})
	b.tap("form.form button.do")
	look("/privacy/search, found")
	b.tap(`form[action="/privacy/erase"] button`)
	look("/privacy/erase, asked again")
	fill(typed{"own", password})
	b.tap("form.form button.do")
	look("/privacy/erase, done")
	photo, err := s.Blobs.Put(t.Context(), firms[0].ID, pagestest.Picture())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Replica.Record(t.Context(), firms[0].ID, jobs.Author{Person: owner.Person, Role: jobs.Owner}, job, []json.RawMessage{[]byte(`{"do":"photo","surface":"W1","file":"` + photo.String() + `"}`)}); err != nil {
		t.Fatal(err)
	}
	b.visit(s.URL + "/jobs/" + job + "/s/W1/history")
	look("/history with a photo")
	b.tap(`.photos a[href$="/erase"]`)
	look("/photo erase")
	b.call("say why", chromedp.Click(chromedp.CSS(`[name="reason"][value="shows"]`)))
	fill(typed{"own", password})
	b.tap("form.form button.do")
	b.visit(s.URL + "/jobs/" + job + "/s/W1/history")
	if got := eval[string](b, `document.querySelector(".photos").textContent`); !strings.Contains(got, "Photo erased on ") {
		t.Errorf("in the photo's place stands %q", got)
	}
	look("/history, photo erased")
	b.quiet(strings.TrimPrefix(s.URL, "http://"))
}
