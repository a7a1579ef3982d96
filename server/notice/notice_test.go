package notice_test

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"tacet/server/accounts"
)

const (
	install = `{"do":"install","surface":"C1","layer":1,"share":1,"mass_kg_m2":12.6}`
	ready   = `{"do":"ready","surface":"C1","layer":1,"cover_at":"2026-03-02T16:30:00Z"}`
	failed  = `{"do":"check","surface":"C1","layer":1,"check":"K23","result":"fail","evidence":1}`
	asked   = `{"do":"substitute","surface":"C1","layer":3,"state":"asked","layer_new":{"kind":"board","thickness_mm":12.5,"mass_kg_m2":8.5},"reason":"none left"}`
)

// What happens is told in one mail, once, without a name of anybody and of anybody's home.
func TestNewsByMail(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		h := w.open(true)
		w.mailServer(h)
		w.wish(h, "m.reed", nil)
		w.says(h, "i.site", install, ready, failed, asked)
		w.round(h)
		w.round(h)
		mails := w.mailbox.Mails()
		if len(mails) != 2 {
			t.Fatalf("%d mails, want the one to confirm the address and one about all", len(mails))
		}
		m := mails[1]
		if !strings.Contains(m.To, "m.reed@example.org") || !strings.Contains(m.From, "tacet@example.org") {
			t.Errorf("from %s to %s", m.From, m.To)
		}
		if got, want := m.Login, "PLAIN "+base64.StdEncoding.EncodeToString([]byte("\x00firm\x00mail-secret-1")); got != want {
			t.Errorf("signed in with %s", got)
		}
		for _, want := range []string{"Subject: 1 stop check failed, 1 substitution to answer", "C1, layer 1, failed a stop check, K23.", "C1, layer 3, is to be of another material: asked.",
			"https://office.example.org/jobs/" + w.job, "List-Unsubscribe-Post: List-Unsubscribe=One-Click", "Auto-Submitted: auto-generated"} {
			if !strings.Contains(m.Data, want) && !strings.Contains(text(m), want) {
				t.Errorf("the mail lacks %q:\n%s", want, m.Data)
			}
		}
		for _, never := range []string{"Lantern Row", "Name of", "i.site", "Quarrystone"} {
			if strings.Contains(m.Data, never) {
				t.Errorf("the mail says %q:\n%s", never, m.Data)
			}
		}
		// What is new is told when the time between two mails is over, not before.
		w.says(h, "i.site", `{"do":"check","surface":"C1","layer":1,"check":"K23","result":"pass","measured":{"gap_mm":4},"evidence":3,"over":"`+failedID(t, h, w)+`"}`)
		w.round(h)
		if n := len(w.mailbox.Mails()); n != 2 {
			t.Errorf("%d mails before the time is over", n)
		}
		w.wait(15 * time.Minute)
		w.round(h)
		mails = w.mailbox.Mails()
		if len(mails) != 3 || !strings.Contains(text(mails[2]), "C1, layer 1, is ready to be seen before it is covered; covering 2 Mar 2026, 16:30.") {
			t.Fatalf("%d mails, the last %s", len(mails), mails[len(mails)-1].Data)
		}
		// The link in the mail ends them.
		_, link, _ := strings.Cut(text(mails[2]), "/notices/stop/")
		link, _, _ = strings.Cut(link, "\n")
		if err := h.accounts.StopNotices(t.Context(), link+"x"); err == nil {
			t.Error("a changed link ends mails")
		}
		if err := h.accounts.StopNotices(t.Context(), link); err != nil {
			t.Fatal(err)
		}
		w.says(h, "i.site", `{"do":"install","surface":"C1","layer":2,"share":1}`)
		w.wait(time.Hour)
		w.round(h)
		if n := len(w.mailbox.Mails()); n != 3 {
			t.Errorf("%d mails after they were ended", n)
		}
	})
}

func failedID(t *testing.T, h house, w *world) string {
	t.Helper()
	j, err := h.record.Job(t.Context(), w.co, w.job)
	if err != nil {
		t.Fatal(err)
	}
	return j.Of("check")[0].ID
}

// In quiet hours nothing is sent; afterwards what still waits is.
func TestQuietHours(t *testing.T) {
	w := newWorld(t, t.TempDir()+"/tacet.db")
	h := w.open(true)
	w.mailServer(h)
	w.wish(h, "m.reed", func(n *accounts.NoticeWish) { n.QuietFrom, n.QuietTo = 13*60, 6*60+30 })
	w.says(h, "i.site", install, ready, asked)
	w.round(h)
	w.wait(16 * time.Hour) // 06:00
	w.says(h, "o.desk", `{"do":"substitute","surface":"C1","layer":3,"state":"refused","reason":"as specified"}`)
	w.round(h)
	if n := len(w.mailbox.Mails()); n != 1 {
		t.Fatalf("%d mails in quiet hours", n-1)
	}
	w.wait(30 * time.Minute)
	w.round(h)
	mails := w.mailbox.Mails()
	if len(mails) != 2 || !strings.Contains(mails[1].Data, "Subject: 1 layer to be seen\n") {
		t.Fatalf("after them: %d mails, %s", len(mails), mails[len(mails)-1].Data)
	}
}

// A mail server that does not take it is asked again, later and later, also by a server that was started anew; one that says never is not.
func TestMailServerThatDoesNotTakeIt(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		h := w.open(true)
		w.mailServer(h)
		w.wish(h, "m.reed", nil)
		w.says(h, "i.site", install, ready)
		w.mailbox.Answer("451 not now")
		w.round(h)
		w.round(h)
		n := latest(t, h, w)
		if n.State != accounts.NoticeWaiting || n.Tries != 1 || !n.Next.Equal(w.clock().Add(time.Minute)) || !strings.Contains(n.Says, `451 "not now"`) || strings.Contains(n.Says, "m.reed@") {
			t.Fatalf("after one try: %+v", n)
		}
		w.wait(time.Minute)
		w.round(h)
		if n = latest(t, h, w); n.Tries != 2 || !n.Next.Equal(w.clock().Add(2*time.Minute)) {
			t.Fatalf("after two tries: %+v", n)
		}
		h = w.open(true)
		w.mailbox.Answer("")
		w.round(h)
		if got := len(w.mailbox.Mails()); got != 1 {
			t.Fatalf("%d mails before it is time", got-1)
		}
		w.wait(2 * time.Minute)
		w.round(h)
		if n = latest(t, h, w); n.State != accounts.NoticeSent || len(w.mailbox.Mails()) != 2 {
			t.Fatalf("%d mails, %+v", len(w.mailbox.Mails()), n)
		}
		w.says(h, "i.site", asked)
		w.wait(time.Hour)
		w.mailbox.Answer("550 no such person")
		w.round(h)
		if n = latest(t, h, w); n.State != accounts.NoticeGivenUp || n.Tries != 1 {
			t.Fatalf("refused for good: %+v", n)
		}
		w.mailbox.Answer("")
		if err := h.accounts.TryAgain(t.Context(), w.co, n.ID); err != nil {
			t.Fatal(err)
		}
		if n, err := h.TryNow(t.Context(), w.co, n.ID); err != nil || n.State != accounts.NoticeSent {
			t.Fatalf("tried again: %+v, %v", n, err)
		}
	})
}

// Nothing is said to a mail server without TLS.
func TestMailServerWithoutTLS(t *testing.T) {
	w := newWorld(t, t.TempDir()+"/tacet.db")
	h := w.open(true)
	w.mailServer(h)
	w.mailbox.WithoutTLS()
	u := w.people["m.reed"]
	if _, err := h.accounts.SetNoticeWish(t.Context(), accounts.Who{Company: w.co, Person: u.Person, Role: u.Role}, accounts.NoticeWish{Mail: "m.reed@example.org", Kinds: []string{"to_see"}, EveryMin: 15}); err != nil {
		t.Fatal(err)
	}
	if err := h.AskToConfirm(t.Context(), w.co, u.Person); err != nil {
		t.Fatal(err)
	}
	w.round(h)
	said := w.mailbox.Said()
	if n := latest(t, h, w); n.State != accounts.NoticeWaiting || !strings.Contains(n.Says, "STARTTLS") || slices.Contains(said, "AUTH") || slices.Contains(said, "RCPT") {
		t.Errorf("%+v; said %v", n, said)
	}
}

// Several servers on one database find the same things at the same time; one of them tells.
func TestTwoServersSendOnce(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		a, b := w.open(true), w.open(true)
		w.mailServer(a)
		w.wish(a, "m.reed", nil)
		w.wish(a, "o.desk", nil)
		w.hook(a)
		for i := range 5 {
			w.says(a, "i.site", fmt.Sprintf(`{"do":"substitute","surface":"C1","layer":%d,"state":"asked","layer_new":{"kind":"board","thickness_mm":12.5,"mass_kg_m2":8.5},"reason":"round %d"}`, 1+2*(i%2), i))
			mails, calls := len(w.mailbox.Mails()), len(w.calls.taken())
			var both sync.WaitGroup
			for _, h := range []house{a, b, a, b} {
				both.Go(func() {
					if err := h.Round(t.Context()); err != nil {
						t.Error(err)
					}
				})
			}
			both.Wait()
			w.round(a) // takes what one had just kept while the other looked
			if got := len(w.mailbox.Mails()) - mails; got != 2 {
				t.Errorf("round %d: %d mails to two people", i, got)
			}
			if got := len(w.calls.taken()) - calls; got != 1 {
				t.Errorf("round %d: %d calls", i, got)
			}
			w.wait(time.Hour)
		}
	})
}

// A call is signed so that its receiver can tell who made it; it names nobody.
func TestCall(t *testing.T) {
	w := newWorld(t, t.TempDir()+"/tacet.db")
	h := w.open(true)
	key := w.hook(h)
	w.says(h, "i.site", install, ready)
	w.round(h)
	w.round(h)
	if n := len(w.calls.taken()); n != 1 {
		t.Fatalf("%d calls", n)
	}
	body, head := w.calls.bodies[0], w.calls.got[0]
	var got struct {
		Notice, Company string
		Things          []struct {
			Kind, Surface, Link string
			Layer               int
		}
	}
	if err := json.Unmarshal([]byte(body), &got); err != nil || got.Company != w.co || len(got.Things) != 1 || got.Things[0].Kind != "to_see" || got.Things[0].Layer != 1 || got.Things[0].Link != "https://office.example.org/jobs/"+w.job {
		t.Errorf("%v: %s", err, body)
	}
	for _, never := range []string{"Lantern Row", "Name of", w.people["i.site"].Person} {
		if strings.Contains(body, never) {
			t.Errorf("the call says %q", never)
		}
	}
	// As a receiver checks it: by the words of RFC 9421, section 2.5, not by the code that signed.
	sum := sha256.Sum256([]byte(body))
	digest := "sha-256=:" + base64.StdEncoding.EncodeToString(sum[:]) + ":"
	params := strings.TrimPrefix(head.Get("Signature-Input"), "tacet=")
	base := fmt.Sprintf("\"@method\": POST\n\"@target-uri\": %s/news\n\"content-type\": application/json\n\"content-digest\": %s\n\"@signature-params\": %s", w.calls.URL, digest, params)
	m := hmac.New(sha256.New, key)
	m.Write([]byte(base))
	if want := "tacet=:" + base64.StdEncoding.EncodeToString(m.Sum(nil)) + ":"; head.Get("Signature") != want || head.Get("Content-Digest") != digest || head.Get("Method") != "POST" {
		t.Errorf("signature %s, want %s", head.Get("Signature"), want)
	}

	// It goes nowhere else, and an address that is gone is left alone.
	w.calls.status = 302
	if n, err := h.Test(t.Context(), w.co); err != nil || n.State != accounts.NoticeWaiting || !strings.Contains(n.Says, "302") || len(w.calls.taken()) != 2 {
		t.Errorf("led elsewhere: %+v, %v, %d calls", n, err, len(w.calls.taken()))
	}
	w.calls.status = 410
	if n, err := h.Test(t.Context(), w.co); err != nil || n.State != accounts.NoticeGivenUp {
		t.Errorf("gone: %+v, %v", n, err)
	}
	// What leads into the server's own network is not called, unless that was allowed.
	w.calls.status = 204
	before := len(w.calls.taken())
	if n, err := w.open(false).Test(t.Context(), w.co); err != nil || n.State != accounts.NoticeWaiting || !strings.Contains(n.Says, "own network") || len(w.calls.taken()) != before {
		t.Errorf("inside: %+v, %v", n, err)
	}
	for _, address := range []string{"http://example.org/", "https://", "ftp://example.org", "https://a:b@example.org/", "https://example.org/#x", "example.org"} {
		if _, err := h.accounts.SetHook(t.Context(), w.co, address, []string{"to_see"}, false); err == nil {
			t.Errorf("%s was taken", address)
		}
	}
}

// Another host does not get the password of the one before.
func TestPasswordStaysWithItsServer(t *testing.T) {
	w := newWorld(t, t.TempDir()+"/tacet.db")
	h := w.open(true)
	w.mailServer(h)
	m := accounts.MailServer{Host: "mail.example.net", Port: 587, TLS: accounts.StartTLS, Sender: "tacet@example.org", Login: "firm"}
	if err := h.accounts.SetMailServer(t.Context(), w.co, m, false); err == nil {
		t.Error("another server without its password was taken")
	}
	m.Host, m.Port = "127.0.0.1", 25
	if err := h.accounts.SetMailServer(t.Context(), w.co, m, true); err != nil {
		t.Fatal(err)
	}
	if ways, err := h.accounts.NoticeWays(t.Context(), w.co); err != nil || ways.Mail.Password != "mail-secret-1" || ways.Mail.Port != 25 || !ways.NamesJob {
		t.Errorf("%+v, %v", ways.Mail.Port, err)
	}
	if err := h.accounts.SetMailServer(t.Context(), w.co, accounts.MailServer{}, false); err != nil {
		t.Fatal(err)
	}
	if ways, err := h.accounts.NoticeWays(t.Context(), w.co); err != nil || ways.Mail != (accounts.MailServer{}) {
		t.Errorf("after it was ended: %v", err)
	}
}

// A job that is kept from a person is not told of to them, also where it was taken from them after the notice was kept.
func TestJobsKeptFromAPerson(t *testing.T) {
	w := newWorld(t, t.TempDir()+"/tacet.db")
	h := w.open(true)
	w.mailServer(h)
	w.wish(h, "m.reed", nil)
	w.keepFrom(h, "m.reed", true)
	w.says(h, "i.site", install, ready)
	w.round(h)
	if n := len(w.mailbox.Mails()); n != 1 {
		t.Fatalf("%d mails about a job that is kept from the person", n-1)
	}
	w.keepFrom(h, "m.reed", false)
	w.mailbox.Answer("451 not now")
	w.round(h)
	if n := latest(t, h, w); n.Tries != 1 {
		t.Fatalf("given back: %+v", n)
	}
	w.keepFrom(h, "m.reed", true)
	w.mailbox.Answer("")
	w.wait(time.Minute)
	w.round(h)
	if n := latest(t, h, w); n.State != accounts.NoticeDropped || len(w.mailbox.Mails()) != 1 {
		t.Fatalf("taken away: %+v, %d mails", n, len(w.mailbox.Mails()))
	}
}

func latest(t *testing.T, h house, w *world) accounts.Notice {
	t.Helper()
	list, err := h.accounts.Notices(t.Context(), w.co, 1)
	if err != nil || len(list) != 1 {
		t.Fatalf("%d notices, %v", len(list), err)
	}
	return list[0]
}
