package e2e_test

import (
	"context"
	"fmt"
	"net"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"tacet/server/pages/pagestest"
)

// missing skips a test for want of a tool, and fails it where nothing may be skipped.
func missing(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("CI") == "true" {
		t.Fatal(what)
	}
	t.Skip(what)
}

// browser is one tab, with all that went over the network and all that the browser complained of.
type browser struct {
	t   testing.TB
	ctx context.Context

	mu     sync.Mutex
	hosts  map[string]string // host -> first address asked for
	errors []string          // refused by policy, failed scripts, dialogs
}

func chromium() string {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return ""
}

// open starts a browser with a profile of its own.
func open(t testing.TB) *browser {
	t.Helper()
	return openIn(t, t.TempDir())
}

// openIn starts a browser with the profile in a folder.
func openIn(t testing.TB, profile string) *browser {
	t.Helper()
	path := chromium()
	if path == "" {
		missing(t, "no Chromium here: the pages are not tried in a browser")
	}
	alloc, stop := chromedp.NewExecAllocator(t.Context(), chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.UserDataDir(profile),
		chromedp.Flag("headless", true), chromedp.Flag("disable-gpu", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("no-first-run", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-dev-shm-usage", true))
	t.Cleanup(stop)
	ctx, cancel := chromedp.NewContext(alloc)
	t.Cleanup(cancel)
	ctx, end := context.WithTimeout(ctx, 4*time.Minute)
	t.Cleanup(end)
	b := &browser{t: t, ctx: ctx, hosts: map[string]string{}}
	if err := chromedp.Listen(ctx, b.hear); err != nil {
		t.Fatalf("start Chromium: %v", err)
	}
	b.call("watch the network", call(network.Enable, network.EnableParams{}))
	b.call("watch the log", call(log.Enable, cdp.Empty{}))
	return b
}

// call makes an action of a protocol command whose answer is not needed.
func call[P, R any](cmd cdp.Command[P, R], params P) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, target *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, target, cmd, params)
		return chromedp.Void{}, err
	}
}

func (b *browser) hear(ev any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch ev := ev.(type) {
	case *network.EventRequestWillBeSent:
		_, rest, ok := strings.Cut(ev.Request.URL, "://")
		if !ok || strings.HasPrefix(ev.Request.URL, "blob:") {
			return
		}
		host, _, _ := strings.Cut(rest, "/")
		if _, seen := b.hosts[host]; !seen {
			b.hosts[host] = ev.Request.URL
		}
	case *log.EventEntryAdded:
		// A page that says what is wrong has a status that says so too, 404 or 422, which the browser notes.
		expected := strings.Contains(ev.Entry.Text, "status of 404") || strings.Contains(ev.Entry.Text, "status of 422")
		if ev.Entry.Level == log.EntryLevelError && !expected {
			b.errors = append(b.errors, ev.Entry.Text+" "+ev.Entry.URL)
		}
	case *page.EventJavascriptDialogOpening:
		b.errors = append(b.errors, "dialog: "+ev.Message)
	}
}

// call runs steps that return nothing.
func (b *browser) call(what string, steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.t.Fatalf("%s: %v", what, err)
	}
}

// eval reads a value from the page.
func eval[T any](b *browser, expression string, opts ...chromedp.EvaluateOption) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression, opts...))
	if err != nil {
		b.t.Fatalf("evaluate %.80s: %v", expression, err)
	}
	return v
}

// until waits until an expression in the page is true.
func (b *browser) until(what, expression string) {
	b.t.Helper()
	end := time.Now().Add(20 * time.Second)
	for {
		ok, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool]("!!("+expression+")"))
		if err == nil && ok {
			return
		}
		if time.Now().After(end) {
			shown := "?"
			if s, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`document.body.innerText.slice(0, 1200)`)); err == nil {
				shown = s
			}
			b.t.Fatalf("%s: it never came (%v); the page shows:\n%s", what, err, shown)
		}
		time.Sleep(30 * time.Millisecond)
	}
}

// visit opens an address and waits until the page is there.
func (b *browser) visit(url string) {
	b.t.Helper()
	b.call("open "+url, chromedp.Navigate(url))
	b.awaitWork()
}

// awaitWork waits while the page says how far its work is: such a page asks again by itself, and would abort what the test opens next.
func (b *browser) awaitWork() {
	b.t.Helper()
	const there = `document.readyState === 'complete' && !document.querySelector('main progress')`
	for range 600 {
		// While the page asks again there may be no document to look at.
		if ok, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool](there)); err == nil && ok {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	b.t.Fatal("the page works for more than half a minute")
}

// tap clicks the one element that a selector finds and waits for the page that it leads to.
func (b *browser) tap(selector string) {
	b.t.Helper()
	if _, err := chromedp.Run(b.ctx, chromedp.WaitEvent(page.LoadEventFired, nil, chromedp.Click(chromedp.CSS(selector)))); err != nil {
		b.t.Fatalf("tap %s: %v", selector, err)
	}
	b.awaitWork()
}

func (b *browser) text(selector string) string {
	b.t.Helper()
	s, err := chromedp.Run(b.ctx, chromedp.TextContent(chromedp.CSS(selector)))
	if err != nil {
		b.t.Fatalf("read %s: %v", selector, err)
	}
	return strings.Join(strings.Fields(s), " ")
}

// quiet fails the test when the browser asked anybody but host for anything, or complained.
func (b *browser) quiet(host string) {
	b.t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	for h, url := range b.hosts {
		if h != host {
			b.t.Errorf("a page asked %s for %s", h, url)
		}
	}
	for _, e := range b.errors {
		b.t.Errorf("the browser says: %s", e)
	}
}

// serve lets the world's app listen and returns its host.
func serve(t *testing.T, w *pagestest.World) string {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- w.App.Listener(ln) }()
	t.Cleanup(func() {
		if err := w.App.ShutdownWithTimeout(2 * time.Second); err != nil {
			t.Logf("stop serving: %v", err)
		}
		if err := <-ended; err != nil {
			t.Error(fmt.Errorf("serve: %w", err))
		}
	})
	return ln.Addr().String()
}
