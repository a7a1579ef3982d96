package e2e_test

import (
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tacet/jobs"
)

// Three photos of one form are three records. Where the second finds no space, the first stays saved, and pressing again saves the other
// two and not the first once more.
func TestPhonePhotosAreSavedOnce(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	dev := f.enrolPhone(b)
	f.net.set(true)
	var files []string
	for i := range 3 {
		m := image.NewGray(image.Rect(0, 0, 64, 48))
		m.SetGray(i*20, 10, color.Gray{Y: 255})
		file, err := os.Create(filepath.Join(t.TempDir(), fmt.Sprintf("%d.png", i)))
		if err != nil {
			t.Fatal(err)
		}
		if err := png.Encode(file, m); err != nil {
			t.Fatal(err)
		}
		if err := file.Close(); err != nil {
			t.Fatal(err)
		}
		files = append(files, file.Name())
	}
	b.hash("#/j/" + f.job + "/s/C1/3/photo")
	b.h1("A photo of")
	b.call("choose them", chromedp.SetUploadFiles(chromedp.CSS("#f-photos"), files))
	b.until("they are shown", "document.querySelectorAll('.chosen img').length === 3")
	eval[bool](b, `{ const add = IDBObjectStore.prototype.add; let n = 0
		IDBObjectStore.prototype.add = function (...a) { if (++n === 2) throw new DOMException('full', 'QuotaExceededError'); return add.apply(this, a) } } true`)
	b.press("button.do")
	b.until("there is no space", "document.querySelector('.errors')?.textContent.includes('There is no space left on this phone')")
	b.press("button.do")
	b.h1("Layer 1 hides")
	f.net.set(false)
	if got := exchange(b); got != "" {
		t.Fatalf("the exchange ends with %q", got)
	}
	seen := map[string]bool{}
	for _, e := range f.laneOf(dev, 3) {
		for _, h := range e.Blobs {
			seen[fmt.Sprint(h)] = true
		}
	}
	if len(seen) != 3 || f.photosHere(dev) != 3 {
		t.Errorf("%d different photos are named, %d are at the server", len(seen), f.photosHere(dev))
	}

	// The office erases one of them: at the next exchange the phone has it no more, and says so.
	gone := f.laneOf(dev, 3)[1].Blobs[0].String()
	edge := json.RawMessage(`{"do":"erasure","of_photos":["` + gone + `"],"reason":"shows"}`)
	if _, err := f.server.Replica.Record(t.Context(), f.co, jobs.Author{Person: f.owner.Person, Role: jobs.Office}, f.job, []json.RawMessage{edge}); err != nil {
		t.Fatal(err)
	}
	if got := exchange(b); got != "" {
		t.Fatalf("the exchange ends with %q", got)
	}
	left := eval[[]string](b, `new Promise((done, fail) => { const ask = indexedDB.open('tacet'); ask.onerror = () => fail(ask.error)
		ask.onsuccess = () => { const tx = ask.result.transaction('photo').objectStore('photo').getAllKeys(); tx.onsuccess = () => { ask.result.close(); done(tx.result) } } })`, chromedp.EvalAwaitPromise)
	if len(left) != 2 || slices.Contains(left, gone) {
		t.Errorf("the phone has photos %v, %s was erased", left, gone)
	}
	says := eval[[]string](b, `new Promise((done, fail) => { const ask = indexedDB.open('tacet'); ask.onerror = () => fail(ask.error)
		ask.onsuccess = () => { const tx = ask.result.transaction('entry').objectStore('entry').getAll(); tx.onsuccess = () => { ask.result.close(); done(tx.result.map((e) => e.shown)) } } })`, chromedp.EvalAwaitPromise)
	if said := slices.DeleteFunc(slices.Clone(says), func(s string) bool { return !strings.HasSuffix(s, "(photo erased)") }); len(said) != 1 {
		t.Errorf("its records say %q", says)
	}
}
