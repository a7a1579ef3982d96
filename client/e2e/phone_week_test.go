package e2e_test

import (
	"bytes"
	"fmt"
	"math/rand"
	"net"
	"net/http"
	"net/http/httputil"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"tacet/server/phone"
)

// size is how much a long test does: the short form, or as much as the environment asks for.
func size(t *testing.T, name string, short int) int {
	t.Helper()
	text := os.Getenv(name)
	if text == "" {
		return short
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		t.Fatalf("%s is %q", name, text)
	}
	return n
}

// A week in a cellar: 40 records a day and 60 photos in all, opened anew each morning, then sent over a network that breaks again and again.
// All of it arrives, once and in order, and no photo before the entries.
func TestPhoneWeek(t *testing.T) {
	days := size(t, "TACET_PHONE_DAYS", 1)
	b := open(t)
	f := newFirm(t)
	dev := f.enrolPhone(b)
	b.until("the service worker has everything", "navigator.serviceWorker.controller")
	f.net.set(true)
	photos := 0
	for day := range days {
		b.visit(fmt.Sprintf("%s/phone?day=%d", f.URL, day))
		b.until("it opens", "document.documentElement.dataset.ready")
		notes(b, f, day*40, day*40+31)
		n := (60*(day+1))/7 - photos
		photos += n
		eval[bool](b, fromPhone(fmt.Sprintf(`(async () => {
			const { record } = await load('pen.js'), { present } = await load('account.js'), { prepare } = await load('picture.js'), who = await present()
			const c = document.createElement('canvas'); c.width = 1200; c.height = 900
			const pen = c.getContext('2d')
			for (let i = 0; i < %d; i++) {
				for (let k = 0; k < 400; k++) { pen.fillStyle = 'rgb(' + [0,0,0].map(() => Math.floor(Math.random() * 256)) + ')'; pen.fillRect(Math.random() * 1200, Math.random() * 900, 60, 60) }
				const p = await prepare(await new Promise((d) => c.toBlob(d, 'image/png')))
				await record({ job: '%s', kind: 'check', on: { surface: 'C1', layer: 3, check: 'K23' }, body: { result: 'pass', evidence: 3, measured: { gap_mm: '4.5' } }, photos: [p], says: 'K23 passed' }, who)
			}
			return true
		})()`, n, f.job)), chromedp.EvalAwaitPromise)
		notes(b, f, day*40+31, day*40+40-n)
	}
	total := int(eval[int64](b, fromPhone(`read(['entry'], (db) => db.entry.count())`), chromedp.EvalAwaitPromise))
	if days == 7 && (total != 280 || photos != 60) {
		t.Fatalf("%d records, %d photos", total, photos)
	}
	b.hash("#/waiting")
	b.h1(fmt.Sprintf("%d changes and %d photos to send.", total, photos))
	began, breaks := time.Now(), 0
	stop := make(chan struct{})
	var cutting sync.WaitGroup
	cutting.Go(func() {
		r := rand.New(rand.NewSource(9))
		for range 8 {
			f.net.set(false)
			select {
			case <-stop:
				return
			case <-time.After(time.Duration(40+r.Intn(400)) * time.Millisecond):
			}
			f.net.set(true)
			breaks++
			time.Sleep(50 * time.Millisecond)
		}
		f.net.set(false)
	})
	early := false
	for exchange(b) != "" {
		if n, p := len(f.records(dev)), f.photosHere(dev); n < total && p > 0 {
			early = true
		}
		if time.Since(began) > 3*time.Minute {
			t.Fatal("it does not come to an end")
		}
	}
	close(stop)
	cutting.Wait()
	f.net.set(false)
	f.laneOf(dev, total)
	if p := f.photosHere(dev); p != photos || early {
		t.Errorf("%d of %d photos are at the server; one before the entries: %v", p, photos, early)
	}
	b.until("nothing waits", "document.querySelector('h1').textContent.includes('Nothing waits')")
	t.Logf("evidence: %d records and %d photos of %d d in a cellar, in %.1f s, %d breaks", total, photos, days, time.Since(began).Seconds(), breaks)
}

// photosHere counts the photos that a device's entries name and the server has.
func (f *firm) photosHere(dev string) int {
	n := 0
	for _, e := range f.records(dev) {
		for _, h := range e.Blobs {
			if _, err := f.server.Replica.Photo(f.t.Context(), f.co, f.job, h); err == nil {
				n++
			}
		}
	}
	return n
}

// The browser is killed at random moments while somebody records: what was said to be saved is there when it is opened again, in a lane
// without a gap, and all of it arrives.
func TestPhoneKilled(t *testing.T) {
	kills := size(t, "TACET_PHONE_KILLS", 5)
	profile := t.TempDir()
	b := openIn(t, profile)
	f := newFirm(t)
	dev := f.enrolPhone(b)
	b.until("the service worker has everything", "navigator.serviceWorker.controller")
	f.net.set(true)
	r := rand.New(rand.NewSource(time.Now().UnixNano()))
	saved := map[string]bool{}
	for kill := range kills {
		acks := make(chan string, 100000)
		if err := chromedp.Listen(b.ctx, func(ev any) {
			if e, ok := ev.(*runtime.EventConsoleAPICalled); ok && len(e.Args) == 2 {
				acks <- strings.Trim(string(e.Args[1].Value), `"`)
			}
		}); err != nil {
			t.Fatal(err)
		}
		b.call("hear the console", call(runtime.Enable, struct{}{}))
		eval[bool](b, fromPhone(`(async () => {
			const { record } = await load('pen.js'), { present } = await load('account.js'), who = await present()
			;(async () => { for (let i = 0; ; i++) { const e = await record({ job: '`+f.job+`', kind: 'note', on: { surface: 'C1' }, body: { text: 'note ' + i }, says: 'note' }, who); console.log('saved', e.id) } })()
			return true
		})()`), chromedp.EvalAwaitPromise)
		time.Sleep(time.Duration(200+r.Intn(600)) * time.Millisecond)
		p := chromedp.FromContext(b.ctx).Browser.Process()
		if err := p.Kill(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(300 * time.Millisecond) // its other processes notice
		for len(acks) > 0 {
			saved[<-acks] = true
		}
		for _, lock := range []string{"SingletonLock", "SingletonSocket", "SingletonCookie"} {
			_ = os.Remove(filepath.Join(profile, lock)) // left by what was killed
		}
		b = openIn(t, profile)
		b.visit(f.URL + "/phone")
		b.until("it opens without a network", "document.documentElement.dataset.ready")
		var here map[string]int64
		ids := eval[[]string](b, fromPhone(`read(['entry'], async (db) => (await db.entry.all()).map((e) => e.id))`), chromedp.EvalAwaitPromise)
		here = map[string]int64{}
		for i, id := range ids {
			here[id] = int64(i + 1)
		}
		for id := range saved {
			if here[id] == 0 {
				t.Errorf("kill %d: %s was said to be saved and is gone", kill+1, id)
			}
		}
		t.Logf("kill %d: %d said to be saved, %d here", kill+1, len(saved), len(here))
	}
	f.net.set(false)
	if got := exchange(b); got != "" {
		t.Fatalf("the exchange ends with %q", got)
	}
	if len(saved) < kills {
		t.Errorf("only %d records were made", len(saved))
	}
	f.laneOf(dev, int(eval[int64](b, fromPhone(`read(['entry'], (db) => db.entry.count())`), chromedp.EvalAwaitPromise)))
	t.Logf("evidence: %d kills, %d records said to be saved, none lost", kills, len(saved))
}

// A new version of the program comes while records wait and a form is open: what is typed stays, nothing changes over until asked, and
// afterwards the records are there and are sent.
func TestPhoneUpdate(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	dev := f.enrolPhone(b)
	b.until("the service worker has everything", "navigator.serviceWorker.controller")
	f.net.set(true)
	notes(b, f, 0, 3)
	b.hash("#/j/" + f.job + "/note")
	b.h1("A note about")
	b.enter("#f-text", "half a sentence")
	was := phone.New().Version()
	f.net.lead(renamed(t, f.server.URL, was))
	f.net.set(false)
	eval[bool](b, `navigator.serviceWorker.ready.then(r => r.update()).then(() => true)`, chromedp.EvalAwaitPromise)
	b.until("it is offered", "document.querySelector('.changed')")
	if got := eval[string](b, `document.querySelector('#f-text').value`); got != "half a sentence" {
		t.Errorf("what was typed is %q", got)
	}
	b.press(".changed button")
	b.until("not under an open form", "document.querySelector('.changed').textContent.includes('Finish what you are recording first')")
	b.press("button.do")
	b.until("it is recorded", "document.querySelector('main').textContent.includes('half a sentence')")
	b.press(".changed button")
	b.until("the new version is there", "document.querySelector('script[type=module]').src.includes("+quote(other(was))+") && document.documentElement.dataset.ready")
	if got := eval[[]string](b, `caches.keys()`, chromedp.EvalAwaitPromise); len(got) != 1 || got[0] != "tacet-"+other(was) {
		t.Errorf("caches %v", got)
	}
	if got := exchange(b); got != "" {
		t.Fatalf("the exchange ends with %q", got)
	}
	f.laneOf(dev, 4)
	b.calm(f)
}

func other(version string) string { return strings.Repeat("N", len(version)) }

// renamed serves what the server serves under another version of the phone's program.
func renamed(t *testing.T, server, version string) string {
	t.Helper()
	to, err := url.Parse(server)
	if err != nil {
		t.Fatal(err)
	}
	p := &httputil.ReverseProxy{
		Rewrite: func(r *httputil.ProxyRequest) {
			r.SetURL(to)
			r.Out.Host = r.In.Host
			r.Out.URL.Path = strings.Replace(r.In.URL.Path, other(version), version, 1)
			r.Out.Header.Del("Accept-Encoding")
		},
		ModifyResponse: func(res *http.Response) error {
			if !strings.HasPrefix(res.Request.URL.Path, "/phone") {
				return nil
			}
			var body bytes.Buffer
			if _, err := body.ReadFrom(res.Body); err != nil {
				return err
			}
			out := bytes.ReplaceAll(body.Bytes(), []byte(version), []byte(other(version)))
			res.Body = http.NoBody
			if len(out) > 0 {
				res.Body = closer{bytes.NewReader(out)}
			}
			return nil
		},
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s := &http.Server{Handler: p, ReadHeaderTimeout: time.Minute}
	go func() { _ = s.Serve(ln) }() // ends with Close
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return ln.Addr().String()
}

type closer struct{ *bytes.Reader }

func (closer) Close() error { return nil }
