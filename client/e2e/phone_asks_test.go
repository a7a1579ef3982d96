package e2e_test

import (
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tacet/jobs"
	"tacet/sync/replica"
)

// A pass with a value outside what its check accepts is asked back without a signal as on the office's page, and taken with a reason.
func TestPhoneDoubtsAPassOutside(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	dev := f.enrolPhone(b)
	b.until("the service worker has everything", "navigator.serviceWorker.controller")
	f.net.set(true)
	b.hash("#/j/" + f.job + "/s/C1/3/K19")
	b.h1("K19 Screw length, layer 3")
	if got := b.text("#f-measured-screw_mm-hint"); got != "The window is 25 to 37 mm." {
		t.Errorf("beside the value stands %q", got)
	}
	b.press("#f-result-0")
	b.press("button.do")
	b.until("an empty length is asked back", "document.querySelector('.errors')")
	if got := b.text(".errors"); !strings.Contains(got, "Write the screw length, or say in the note why it passes without.") {
		t.Errorf("without a length it asks %q", got)
	}
	b.enter(`[name="measured.screw_mm"]`, "90")
	b.press("button.do")
	b.until("it is asked back", "document.querySelector('.errors')?.textContent.includes('outside')")
	if got := strings.ReplaceAll(b.text(".errors"), "\u202f", " "); !strings.Contains(got, "90 mm is outside 25 to 37 mm. Choose Failed, or say in the note why it passes.") {
		t.Errorf("it asks %q", got)
	}
	b.enter("#f-note", "long ones into the old joist, agreed")
	b.press("button.do")
	b.until("shown at once", `document.querySelector('main').textContent.replaceAll('\u202f', ' ').includes('screw length 90 mm, outside 25 to 37 mm')`)
	f.net.set(false)
	if got := exchange(b); got != "" {
		t.Fatalf("the exchange ends with %q", got)
	}
	if es := f.records(dev); len(es) != 1 || es[0].Kind != "check" || es[0].State != replica.Standing {
		t.Errorf("at the server: %v", es)
	}
	b.calm(f)
}

// What is in the way of the next layer is said without a signal, and no longer once the phone itself has recorded it.
func TestPhoneSaysWhatIsInTheWay(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	f.enrolPhone(b)
	b.until("the service worker has everything", "navigator.serviceWorker.controller")
	f.net.set(true)
	at := "#/j/" + f.job + "/s/C1/"
	const open, missing = "K02 holes filled of the whole surface is open.", "Layer 1 beneath it is not recorded in place."
	stops := func(n, want, not string) {
		t.Helper()
		b.hash(at + n + "/install")
		b.h1("Layer " + n)
		got := b.text("main")
		if !strings.Contains(got, want) || not != "" && strings.Contains(got, not) {
			t.Errorf("layer %s: it says %q, want %q and not %q", n, got, want, not)
		}
	}
	stops("1", open, "")
	stops("2", missing, "")
	stops("4", "Layers 1, 2 and 3 beneath it are not recorded in place.", "")
	b.hash(at + "0/K02")
	b.h1("K02")
	b.press("#f-result-0")
	b.press("button.do")
	b.until("recorded", `document.querySelector('main').textContent.includes('K02 passed')`)
	stops("1", "K13 cables of the whole surface is open.", open)
	b.press("button.do")
	const why = "Say why it goes on all the same."
	b.until("a reason is wanted", "document.querySelector('.errors')?.textContent.includes("+strconv.Quote(why)+")")
	b.enter("#f-note", "cables are clear")
	b.press("button.do")
	b.until("recorded too", `document.querySelector('main').textContent.includes('100 % in place')`)
	stops("4", "Layers 2 and 3 beneath it are not recorded in place.", "")
	// What it covers was put on here and nobody has seen it.
	const sealed = "K23 perimeter sealed of layer 3 is open."
	stops("4", "Layers 2 and 3", sealed)
	stops("3", "Layer 2", "")
	if got := b.text("button.do"); got != "Record layer 3 in place all the same" {
		t.Errorf("the button says %q", got)
	}
	b.enter("#f-note", "the wool was in already")
	b.press("button.do")
	b.until("layer 3 is recorded", `location.hash.endsWith('/s/C1')`)
	stops("4", sealed, "")
	b.calm(f)
}

// A substitution is asked for without a signal, the phone is closed over the night and opened anew, which says that what was taken along
// is more than a day old; with a signal the question stands at the server. The key with which it is sealed can't be taken out.
func TestPhoneAsksForASubstitution(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	dev := f.enrolPhone(b)
	b.until("the service worker has everything", "navigator.serviceWorker.controller")
	f.net.set(true)
	b.hash("#/j/" + f.job + "/s/C1/3/substitute")
	b.h1("instead of")
	b.call("another thickness", chromedp.SetValue(chromedp.CSS(`[name="layer_new.thickness_mm"]`), "12.5"))
	b.press("button.do")
	b.until("a reason is wanted", "document.querySelector('.errors')")
	b.enter("#f-reason", "none of it left in the yard")
	b.press("button.do")
	b.until("shown at once", "document.querySelector('main').textContent.includes('substitution asked for: none of it left in the yard')")
	eval[bool](b, fromPhone(`write(['kept'], async (db) => { for (const k of await db.kept.all()) await db.kept.put({ ...k, took: k.took - 25 * 3600e3 }) }).then(() => true)`), chromedp.EvalAwaitPromise)
	b.visit("about:blank")
	b.visit(f.URL + "/phone")
	b.h1("1 job taken along.")
	if got := b.text("main"); !strings.Contains(got, "That is more than a day ago") {
		t.Errorf("of a day-old job it says %q", got)
	}
	b.until("it still waits", "document.querySelector('.line').textContent.includes('1 change is saved here and will be sent later')")
	if got := eval[string](b, fromPhone(`read(['me'], (db) => db.me.get('device')).then((d) => crypto.subtle.exportKey('pkcs8', d.key)).then(() => 'taken out', (err) => err.name)`), chromedp.EvalAwaitPromise); got != "InvalidAccessError" {
		t.Errorf("the key: %s", got)
	}
	f.net.set(false)
	if got := exchange(b); got != "" {
		t.Fatalf("the exchange ends with %q", got)
	}
	es := f.records(dev)
	if len(es) != 1 || es[0].Kind != "substitute" || es[0].State != replica.Standing {
		t.Fatalf("at the server: %v", es)
	}
	j, err := f.server.Replica.Job(t.Context(), f.co, f.job)
	if err != nil {
		t.Fatal(err)
	}
	asked := j.OpenEffects()
	if len(asked) != 1 || asked[0].Surface != "C1" || asked[0].Layer != 3 || asked[0].State != jobs.Asked || asked[0].Reason != "none of it left in the yard" || !strings.Contains(asked[0].New, "12.5") {
		t.Errorf("the office is asked %+v", asked)
	}
	b.calm(f)
}
