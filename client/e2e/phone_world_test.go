package e2e_test

import (
	"io"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/app"
	"tacet/sync/replica"
)

// firm is a real server with people, a job, and a network in front of it that can be cut for everything at once, page and service
// worker alike.
type firm struct {
	t      testing.TB
	server *app.Running
	config app.Config
	co     string
	job    string
	URL    string // through the network
	net    *wires
	owner  accounts.User
	site   accounts.User
}

const phonePassword = "slate gutter ninety"

func newFirm(t testing.TB) *firm {
	t.Helper()
	f := &firm{t: t, config: app.Config{Folder: app.Folder{Dir: t.TempDir()}, Listen: "127.0.0.1:0"}}
	f.start()
	co, err := f.server.Accounts.AddCompany(t.Context(), "Quillmarsh Linings (invented)")
	if err != nil {
		t.Fatal(err)
	}
	f.co = co.ID
	f.owner = f.person("maren", "Maren Tolleby", jobs.Supervisor)
	f.site = f.person("idris", "Idris Vaugh", jobs.Site)
	data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "demo", "lantern-row.json"))
	if err != nil {
		t.Fatal(err)
	}
	edges, err := jobs.Import(data)
	if err != nil {
		t.Fatal(err)
	}
	if f.job, err = f.server.Replica.NewID(); err != nil {
		t.Fatal(err)
	}
	if _, err := f.server.Replica.Record(t.Context(), f.co, jobs.Author{Person: f.owner.Person, Role: jobs.Supervisor}, f.job, edges); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.stop() })
	return f
}

func (f *firm) start() {
	f.t.Helper()
	s, err := app.Start(f.t.Context(), f.config)
	if err != nil {
		f.t.Fatal(err)
	}
	f.server = s
	host := strings.TrimPrefix(s.URL, "http://")
	if f.net == nil {
		f.net = newNetwork(f.t, host)
		f.URL = "http://" + f.net.ln.Addr().String()
	}
	f.net.lead(host)
}

func (f *firm) stop() {
	f.t.Helper()
	if f.server == nil {
		return
	}
	if err := f.server.Stop(); err != nil {
		f.t.Error(err)
	}
	f.server = nil
}

func (f *firm) person(login, name string, role jobs.Role) accounts.User {
	f.t.Helper()
	u, err := f.server.Accounts.AddUser(f.t.Context(), accounts.User{Company: f.co, Login: login, Name: name, Role: role}, phonePassword)
	if err != nil {
		f.t.Fatal(err)
	}
	return u
}

func (f *firm) code(login string) string {
	f.t.Helper()
	code, err := f.server.Accounts.EnrolCode(f.t.Context(), login, time.Hour)
	if err != nil {
		f.t.Fatal(err)
	}
	return code
}

// records are the entries of the job that a device wrote, as the server has them.
func (f *firm) records(dev string) []replica.Stored {
	f.t.Helper()
	var out []replica.Stored
	err := f.server.Store.Read(f.t.Context(), f.co, func(tx replica.Tx) error {
		es, err := tx.Entries(f.job, 0)
		for _, e := range es {
			if e.Dev == dev {
				out = append(out, e)
			}
		}
		return err
	})
	if err != nil {
		f.t.Fatal(err)
	}
	return out
}

// wires carries connections to the server until it is cut.
type wires struct {
	ln net.Listener

	mu    sync.Mutex
	to    string
	cut   bool
	conns map[net.Conn]bool
	hits  int // connections made while it was whole
}

func newNetwork(t testing.TB, to string) *wires {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	n := &wires{ln: ln, to: to, conns: map[net.Conn]bool{}}
	var done sync.WaitGroup
	done.Go(func() {
		for {
			c, err := ln.Accept()
			if err != nil {
				return
			}
			done.Go(func() { n.carry(c) })
		}
	})
	t.Cleanup(func() {
		if err := ln.Close(); err != nil {
			t.Error(err)
		}
		n.set(true)
		done.Wait()
	})
	return n
}

func (n *wires) lead(to string) {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.to = to
}

// set cuts the network, connections under way included, or mends it.
func (n *wires) set(cut bool) {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.cut = cut
	if cut {
		for c := range n.conns {
			_ = c.Close() // a cut is no error
		}
	}
}

func (n *wires) carry(c net.Conn) {
	defer c.Close()
	n.mu.Lock()
	to, cut := n.to, n.cut
	if !cut {
		n.hits++
		n.conns[c] = true
	}
	n.mu.Unlock()
	if cut {
		return
	}
	s, err := net.Dial("tcp", to)
	if err != nil {
		return
	}
	defer s.Close()
	n.mu.Lock()
	n.conns[s] = true
	n.mu.Unlock()
	both := make(chan struct{}, 2)
	pipe := func(to, from net.Conn) {
		_, _ = io.Copy(to, from) // ends with either side
		both <- struct{}{}
	}
	go pipe(s, c)
	go pipe(c, s)
	<-both
	n.mu.Lock()
	delete(n.conns, c)
	delete(n.conns, s)
	n.mu.Unlock()
}

// h1 waits for a screen that says so.
func (b *browser) h1(says string) {
	b.t.Helper()
	b.until(says, "!document.documentElement.dataset.busy && document.querySelector('h1')?.textContent.replace(/\\s/g, ' ').includes("+quote(says)+")")
}

func quote(s string) string {
	return "'" + strings.NewReplacer(`\`, `\\`, `'`, `\'`, "\n", `\n`).Replace(s) + "'"
}

// hash goes to a screen of the phone.
func (b *browser) hash(to string) {
	b.t.Helper()
	eval[bool](b, "location.hash = "+quote(to)+"; true")
}

// press clicks the first of what a selector finds.
func (b *browser) press(selector string) {
	b.t.Helper()
	var err error
	for range 5 { // a screen may be drawn anew in between
		b.until(selector, "document.querySelector("+quote(selector)+")")
		if err = chromedp.Do(b.ctx, chromedp.Click(chromedp.CSS(selector))); err == nil {
			return
		}
	}
	b.t.Fatalf("press %s: %v", selector, err)
}

func (b *browser) enter(selector, text string) {
	b.t.Helper()
	b.call("type into "+selector, chromedp.SendKeys(chromedp.CSS(selector), text))
}

// enrolPhone makes the browser a device of the firm and takes the job along.
func (f *firm) enrolPhone(b *browser) (dev string) {
	f.t.Helper()
	b.visit(f.URL + "/phone#/enrol/" + f.code("idris"))
	b.until("the page is ready", "document.documentElement.dataset.ready")
	b.h1("Enrol this phone")
	b.enter("#f-name", "Idris, phone")
	b.press(".form .do")
	b.h1("Which jobs does this phone take along?")
	b.press(".pick input")
	b.press(".form .do")
	b.h1("1 job taken along.")
	return eval[string](b, fromPhone(`(await read(['me'], (db) => db.me.get('device'))).dev`), chromedp.EvalAwaitPromise)
}

// fromPhone wraps an expression that uses the phone's own modules.
func fromPhone(expression string) string {
	return `(async () => { const at = document.querySelector('script[type=module]').src.replace(/[^/]*$/, '')
	const load = (n) => import(at + n)
	const { read, write } = await load('store.js')
	return ` + expression + ` })()`
}

// calm is quiet, but for what a browser says of a network that was cut, of a server that was stopped and of what it refused.
func (b *browser) calm(f *firm) {
	b.t.Helper()
	b.mu.Lock()
	b.errors = slices.DeleteFunc(b.errors, func(e string) bool {
		return strings.Contains(e, "net::ERR_") || strings.Contains(e, "the server responded with a status of")
	})
	b.mu.Unlock()
	b.quiet(strings.TrimPrefix(f.URL, "http://"))
}
