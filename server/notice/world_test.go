package notice_test

import (
	"crypto/rand"
	"crypto/x509"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/notice"
	"tacet/server/notice/noticetest"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/storetest"
)

const password = "slate gutter ninety"

// world is a firm on a server, with a mail server and an address that is called, on a clock of its own.
type world struct {
	t       *testing.T
	source  string
	keyDir  string
	co      string
	job     string
	people  map[string]accounts.User
	mailbox *noticetest.Mailbox
	calls   *calls
	roots   *x509.CertPool

	mu  sync.Mutex
	now time.Time
}

// house is one server on the database of the world.
type house struct {
	*notice.Notices
	accounts *accounts.Accounts
	record   *replica.Replica
}

// calls is the other side of the calls.
type calls struct {
	*httptest.Server
	mu     sync.Mutex
	got    []http.Header
	bodies []string
	status int
}

func (c *calls) taken() []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return append([]string(nil), c.bodies...)
}

func each(t *testing.T, test func(*testing.T, *world)) {
	t.Run("sqlite", func(t *testing.T) { test(t, newWorld(t, filepath.Join(t.TempDir(), "tacet.db"))) })
	t.Run("postgres", func(t *testing.T) { test(t, newWorld(t, storetest.PostgresDSN(t))) })
}

func newWorld(t *testing.T, source string) *world {
	t.Helper()
	w := &world{t: t, source: source, keyDir: filepath.Join(t.TempDir(), "keys"), people: map[string]accounts.User{}, now: time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC), calls: &calls{status: 204}}
	w.calls.Server = httptest.NewTLSServer(http.HandlerFunc(func(rw http.ResponseWriter, r *http.Request) {
		b, err := io.ReadAll(r.Body)
		if err != nil {
			t.Error(err)
		}
		w.calls.mu.Lock()
		defer w.calls.mu.Unlock()
		h := r.Header.Clone()
		h.Set("Method", r.Method)
		w.calls.got, w.calls.bodies = append(w.calls.got, h), append(w.calls.bodies, string(b))
		if w.calls.status == 302 {
			rw.Header().Set("Location", "/elsewhere")
		}
		rw.WriteHeader(w.calls.status)
	}))
	t.Cleanup(w.calls.Close)
	w.roots = x509.NewCertPool()
	w.roots.AddCert(w.calls.Certificate())
	w.mailbox = noticetest.NewMailbox(t, w.calls.TLS.Certificates[0])

	h := w.open(true)
	firm, err := h.accounts.AddCompany(t.Context(), "Quarrystone Interiors (invented)")
	if err != nil {
		t.Fatal(err)
	}
	w.co = firm.ID
	for login, role := range map[string]jobs.Role{"m.reed": jobs.Supervisor, "i.site": jobs.Site, "o.desk": jobs.Office} {
		if w.people[login], err = h.accounts.AddUser(t.Context(), accounts.User{Company: w.co, Login: login, Name: "Name of " + login, Role: role}, password); err != nil {
			t.Fatal(err)
		}
	}
	if w.job, err = h.record.NewID(); err != nil {
		t.Fatal(err)
	}
	// Masses: common practice, no source.
	edges, err := jobs.Import([]byte(`{"name":"7b Lantern Row","surfaces":[{"code":"C1","kind":"ceiling","width_m":4,"height_m":2.5,"specified":[
		{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8},{"kind":"membrane","thickness_mm":5.3,"mass_kg_m2":10},{"kind":"board","thickness_mm":15,"mass_kg_m2":12.8}]}]}`))
	if err != nil {
		t.Fatal(err)
	}
	w.record(h, "o.desk", edges...)
	return w
}

// open starts a server on the world's database.
func (w *world) open(private bool) house {
	w.t.Helper()
	keys, err := accounts.LoadKeys(w.keyDir)
	if err != nil {
		w.t.Fatal(err)
	}
	st, err := store.Open(w.t.Context(), w.source)
	if err != nil {
		w.t.Fatal(err)
	}
	w.t.Cleanup(func() { st.Close() })
	h := house{record: replica.New(replica.Config{Store: st, Blobs: photo.NewDir(w.t.TempDir()), Device: keys.Server, Key: keys.Record, Now: w.clock, Rand: rand.Reader})}
	if h.accounts, err = accounts.New(accounts.Config{DB: st.DB(), Record: st, Keys: keys, Now: w.clock}); err != nil {
		w.t.Fatal(err)
	}
	h.Notices = notice.New(notice.Config{Accounts: h.accounts, Record: h.record, Link: func(t notice.Thing) string { return "/jobs/" + t.Job }, Host: "https://office.example.org/", Zone: time.UTC, Now: w.clock,
		Private: private, Roots: w.roots, Log: slog.New(slog.DiscardHandler)})
	return h
}

func (w *world) clock() time.Time {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.now
}

func (w *world) wait(d time.Duration) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.now = w.now.Add(d)
}

func (w *world) record(h house, login string, edges ...json.RawMessage) {
	w.t.Helper()
	u := w.people[login]
	if _, err := h.record.Record(w.t.Context(), w.co, jobs.Author{Person: u.Person, Role: u.Role}, w.job, edges); err != nil {
		w.t.Fatal(err)
	}
}

func (w *world) says(h house, login string, edges ...string) {
	w.t.Helper()
	for _, e := range edges {
		w.record(h, login, json.RawMessage(e))
	}
}

// mailServer sets the mailbox as the firm's mail server.
func (w *world) mailServer(h house) {
	w.t.Helper()
	m := accounts.MailServer{Host: "127.0.0.1", Port: w.mailbox.Port, TLS: accounts.StartTLS, Sender: "tacet@example.org", Login: "firm", Password: "mail-secret-1"}
	if err := h.accounts.SetMailServer(w.t.Context(), w.co, m, false); err != nil {
		w.t.Fatal(err)
	}
}

// wish asks for news for a person and confirms the address with the link of the mail that comes.
func (w *world) wish(h house, login string, change func(*accounts.NoticeWish)) {
	w.t.Helper()
	u := w.people[login]
	n := accounts.NoticeWish{Mail: login + "@example.org", EveryMin: 15}
	for _, k := range notice.Kinds() {
		n.Kinds = append(n.Kinds, string(k))
	}
	if change != nil {
		change(&n)
	}
	confirm, err := h.accounts.SetNoticeWish(w.t.Context(), accounts.Who{Company: w.co, Person: u.Person, Role: u.Role}, n)
	if err != nil || !confirm {
		w.t.Fatalf("wish: to confirm %v, %v", confirm, err)
	}
	if err := h.AskToConfirm(w.t.Context(), w.co, u.Person); err != nil {
		w.t.Fatal(err)
	}
	before := len(w.mailbox.Mails())
	w.round(h)
	mails := w.mailbox.Mails()
	if len(mails) != before+1 {
		w.t.Fatalf("%d mails to confirm the address", len(mails)-before)
	}
	_, link, ok := strings.Cut(text(mails[before]), "/notices/confirm/")
	if !ok {
		w.t.Fatalf("no link to confirm in %s", mails[before].Data)
	}
	link, _, _ = strings.Cut(link, "\n")
	if err := h.accounts.ConfirmNotices(w.t.Context(), link); err != nil {
		w.t.Fatal(err)
	}
}

// text is the text of a mail, its soft line ends taken out (quoted-printable, RFC 2045).
func text(m noticetest.Mail) string {
	_, body, _ := strings.Cut(m.Data, "\n\n")
	return strings.ReplaceAll(strings.ReplaceAll(body, "=\n", ""), "=3D", "=")
}

// keepFrom keeps the job from a person, or gives it back.
func (w *world) keepFrom(h house, login string, kept bool) {
	w.t.Helper()
	keys, err := accounts.LoadKeys(w.keyDir)
	if err != nil {
		w.t.Fatal(err)
	}
	w.wait(time.Second)
	a := replica.Access{Co: w.co, What: replica.AccessJob, ID: w.people[login].Person, Job: w.job, May: !kept, At: w.clock().UnixMilli()}
	if err := a.Sign(keys.Record); err != nil {
		w.t.Fatal(err)
	}
	if fresh, err := h.record.Heed(w.t.Context(), w.co, []replica.Access{a}); err != nil || len(fresh) != 1 {
		w.t.Fatalf("%d statements taken, %v", len(fresh), err)
	}
}

func (w *world) round(h house) {
	w.t.Helper()
	if err := h.Round(w.t.Context()); err != nil {
		w.t.Fatal(err)
	}
}

func (w *world) hook(h house) []byte {
	w.t.Helper()
	if _, err := h.accounts.SetHook(w.t.Context(), w.co, w.calls.URL+"/news", []string{string(notice.ToSee), string(notice.StopFailed), string(notice.Substitution)}, false); err != nil {
		w.t.Fatal(err)
	}
	ways, err := h.accounts.NoticeWays(w.t.Context(), w.co)
	if err != nil || len(ways.HookKey) != 32 {
		w.t.Fatalf("key of %d bytes, %v", len(ways.HookKey), err)
	}
	return ways.HookKey
}
