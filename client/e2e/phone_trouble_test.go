package e2e_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"tacet/jobs"
	"tacet/server/phone"
	"tacet/sync/replica"
)

// notes records notes in the page, one after the other, as its forms do.
func notes(b *browser, f *firm, from, to int) {
	b.t.Helper()
	eval[bool](b, fromPhone(fmt.Sprintf(`(async () => {
		const { record } = await load('pen.js'), { present } = await load('account.js'), who = await present()
		for (let i = %d; i < %d; i++) await record({ job: '%s', kind: 'note', on: { surface: 'C1' }, body: { text: 'note ' + i }, says: 'note ' + i }, who)
		return true
	})()`, from, to, f.job)), chromedp.EvalAwaitPromise)
}

// exchange sends and fetches now and returns what stopped it.
func exchange(b *browser) string {
	b.t.Helper()
	return eval[string](b, fromPhone(`(async () => { const { exchange } = await load('exchange.js')
		for (;;) { const r = await exchange(); if (r !== 'elsewhere') return r; await new Promise((d) => setTimeout(d, 50)) } })()`), chromedp.EvalAwaitPromise)
}

// laneOf checks that a device's entries are at the server once each, in order and standing.
func (f *firm) laneOf(dev string, want int) []replica.Stored {
	f.t.Helper()
	es := f.records(dev)
	if len(es) != want {
		f.t.Fatalf("%d entries of the phone are at the server, want %d", len(es), want)
	}
	runs := map[int64]bool{}
	for _, e := range es {
		runs[e.Run] = true
		if e.State != replica.Standing {
			f.t.Errorf("entry %d is %s: %s", e.Run, e.State, e.Says)
		}
	}
	for n := range want {
		if !runs[int64(n+1)] {
			f.t.Errorf("entry %d is missing", n+1)
		}
	}
	return es
}

// Two tabs record and send at the same moment: the lane has no gap and no fork, each entry arrives once, and the refresh token, which is
// good for one use, is not used twice.
func TestPhoneInTwoTabs(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	dev := f.enrolPhone(b)
	ctx, cancel := chromedp.NewContext(b.ctx)
	t.Cleanup(cancel)
	other := &browser{t: t, ctx: ctx, hosts: map[string]string{}}
	other.visit(f.URL + "/phone")
	other.until("the second tab is ready", "document.documentElement.dataset.ready")
	done := make(chan struct{})
	go func() {
		defer close(done)
		notes(other, f, 0, 20)
	}()
	notes(b, f, 20, 40)
	<-done
	done = make(chan struct{})
	refresh := fromPhone(`(async () => { const { token } = await load('account.js'); await Promise.all([token(true), token(true)]); return true })()`)
	go func() {
		defer close(done)
		eval[bool](other, refresh, chromedp.EvalAwaitPromise)
		exchange(other)
	}()
	eval[bool](b, refresh, chromedp.EvalAwaitPromise)
	exchange(b)
	<-done
	if got := exchange(b); got != "" {
		t.Errorf("afterwards an exchange ends with %q", got)
	}
	f.laneOf(dev, 40)
	for _, tab := range []*browser{b, other} {
		tab.until("both say so", "document.querySelector('.line').textContent.includes('All changes sent')")
	}
	b.calm(f)
}

// A phone whose clock is a year ahead: all of it is taken, the wrong clock is said, and once it is put right, what follows carries the
// right time.
func TestPhoneWithAWrongClock(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	wrong := `{ const real = Date.now; Date.now = () => real() + 365 * 24 * 3600e3 }`
	b.call("put the clock wrong", call(page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: "if (!sessionStorage.right) " + wrong}))
	dev := f.enrolPhone(b)
	notes(b, f, 0, 3)
	if got := exchange(b); got != "" {
		t.Fatalf("the exchange ends with %q", got)
	}
	f.laneOf(dev, 3)
	b.hash("#/")
	b.until("it says how wrong", "document.querySelector('.line').textContent.includes('clock is 365 days wrong')")
	eval[bool](b, "sessionStorage.right = 'yes'; true")
	b.visit(f.URL + "/phone?again")
	b.until("the page is ready", "document.documentElement.dataset.ready")
	if got := exchange(b); got != "" {
		t.Fatalf("with the right clock an exchange ends with %q", got)
	}
	notes(b, f, 3, 4)
	if got := exchange(b); got != "" {
		t.Fatalf("the last exchange ends with %q", got)
	}
	for _, e := range f.laneOf(dev, 4) {
		if off := time.Until(e.Clk.Time()); e.Run == 4 && (off > time.Hour || off < -time.Hour) {
			t.Errorf("the entry after the correction is of %s", e.Clk.Time())
		}
	}
}

// A picture that the browser can't decode is refused, with what to set on the phone; one that it can decode leaves its place behind.
func TestPhonePictures(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	f.enrolPhone(b)
	odd := filepath.Join(t.TempDir(), "image.heic")
	if err := os.WriteFile(odd, []byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), 0o600); err != nil {
		t.Fatal(err)
	}
	b.hash("#/j/" + f.job + "/s/C1/3/photo")
	b.h1("A photo of")
	b.call("choose it", chromedp.SetUploadFiles(chromedp.CSS("#f-photos"), []string{odd}))
	b.until("it is refused", "document.querySelector('.errors')?.textContent.includes('In the settings of the phone’s camera choose JPEG') || document.querySelector('.errors')?.textContent.includes(\"In the settings of the phone's camera choose JPEG\")")
	large := eval[string](b, fromPhone(`(async () => {
		const { prepare } = await load('picture.js'), { toBase64 } = await load('bytes.js')
		const c = document.createElement('canvas'); c.width = 3000; c.height = 1500
		const pen = c.getContext('2d'); pen.fillStyle = '#a33'; pen.fillRect(0, 0, 3000, 1500)
		const jpeg = new Uint8Array(await (await new Promise((d) => c.toBlob(d, 'image/jpeg'))).arrayBuffer())
		// A camera's metadata, turned by a quarter, and with a place in it.
		const tiff = [0x49,0x49,0x2a,0,8,0,0,0,1,0,0x12,1,3,0,1,0,0,0,6,0,0,0,0,0,0,0], body = [...new TextEncoder().encode('Exif\0\0'), ...tiff, ...new TextEncoder().encode('GPS 51.5 N')]
		const with_ = new Uint8Array([0xff,0xd8,0xff,0xe1,(body.length+2)>>8,(body.length+2)&255,...body,...jpeg.slice(2)])
		const p = await prepare(new File([with_], 'x.jpg', { type: 'image/jpeg' })), bytes = new Uint8Array(p.bytes)
		const bitmap = await createImageBitmap(new Blob([bytes]))
		return JSON.stringify({ w: bitmap.width, h: bitmap.height, b: toBase64(bytes), hash: p.h, thumb: p.thumb.byteLength })
	})()`), chromedp.EvalAwaitPromise)
	var got struct {
		W, H, Thumb int
		B           []byte
		Hash        jobs.Hash
	}
	if err := json.Unmarshal([]byte(large), &got); err != nil {
		t.Fatal(err)
	}
	if got.W != 1000 || got.H != 2000 || got.Thumb == 0 || got.Hash != jobs.HashBlob(got.B) {
		t.Errorf("%d x %d, thumbnail %d bytes", got.W, got.H, got.Thumb)
	}
	if bytes.Contains(got.B, []byte("GPS")) || bytes.Contains(got.B, []byte("Exif")) || !bytes.HasPrefix(got.B, []byte{0xff, 0xd8, 0xff}) {
		t.Error("the place is still in it, or it is no JPEG")
	}
}

// One phone, two people: what one took along and recorded does not show for the other, signing out deletes nothing that is not sent, the
// next one's sign-in sends it, and a PIN lets people change over without a signal.
func TestPhoneShared(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	dev := f.enrolPhone(b)
	b.hash("#/you")
	b.h1("Idris Vaugh")
	b.enter("#f-pin", "493817")
	b.press(".form .do")
	b.h1("1 job taken along.")
	f.net.set(true)
	notes(b, f, 0, 2)
	b.hash("#/you")
	b.h1("Idris Vaugh")
	b.press("button.or")
	b.h1("Who uses this phone?")
	if got := b.text("body"); strings.Contains(got, "Lantern") || strings.Contains(got, "note ") {
		t.Errorf("after signing out the page shows %q", got)
	}
	b.hash("#/j/" + f.job)
	b.h1("Who uses this phone?")
	b.enter(`input[name^="pin."]`, "493818")
	b.press(".job .do")
	b.until("a wrong PIN", "document.querySelector('.errors')?.textContent.includes('That PIN is wrong')")
	f.net.set(false)
	b.enter("#f-login", "maren")
	b.enter("#f-password", phonePassword)
	b.press(".job:last-child .do")
	b.h1("No job is taken along.")
	b.until("all of it is sent", "document.querySelector('.line').textContent.includes('All changes sent')")
	for _, e := range f.laneOf(dev, 2) {
		if e.By != f.site.Person {
			t.Errorf("an entry is by %s", e.By)
		}
	}
	b.hash("#/waiting")
	b.h1("Nothing waits")
	if got := b.text("main"); strings.Contains(got, "note ") {
		t.Errorf("a colleague's records show: %q", got)
	}
	f.net.set(true)
	b.hash("#/sign-in")
	b.h1("Who uses this phone?")
	b.enter(`input[name^="pin."]`, "493817")
	b.press(".job .do")
	b.h1("1 job taken along.")
	b.calm(f)
}

// What is three days old and not sent is warned of.
func TestPhoneWarnsOfOldWork(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	f.enrolPhone(b)
	f.net.set(true)
	notes(b, f, 0, 1)
	eval[bool](b, fromPhone(`write(['entry'], async (db) => { const e = await db.entry.get(1); await db.entry.put({ ...e, at: e.at - 49 * 3600e3 }) }).then(() => true)`), chromedp.EvalAwaitPromise)
	b.hash("#/waiting")
	b.until("the warning", "document.querySelector('main').textContent.includes('3 days old and not sent')")
	b.until("the advice", "document.querySelector('main').textContent.includes('home screen')")
	// The code on a sheet opens its surface, through the service worker as well.
	code := jobs.SheetCode(f.job, "C1")
	b.until("the service worker is there", "navigator.serviceWorker.controller")
	b.visit(f.URL + "/s/" + code)
	b.h1("Layer 1 hides")
	b.hash("#/scan")
	b.h1("Open a sheet")
	b.enter("#f-code", code[:12]+"0")
	b.press("button.do")
	b.until("a typing error", "document.querySelector('.errors')?.textContent.includes('typing error')")
}

// A browser that lacks the kind of key records with a signal only, and says so.
func TestPhoneWithoutTheKeyType(t *testing.T) {
	b := open(t)
	p := phone.New()
	b.call("take the key type away", call(page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: `
		const real = crypto.subtle.generateKey.bind(crypto.subtle)
		crypto.subtle.generateKey = (a, ...rest) => (a.name ?? a) === 'Ed25519' ? Promise.reject(new DOMException('no', 'NotSupportedError')) : real(a, ...rest)`}))
	b.visit("http://" + bareHost(t, p) + "/phone#/enrol/ABC")
	b.h1("This browser can only record with a signal.")
	if got := eval[string](b, `document.querySelector('a.do').getAttribute('href')`); got != "/" {
		t.Errorf("it leads to %s", got)
	}
}
