package e2e_test

import (
	"errors"
	"image"
	"image/png"
	"io/fs"
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// A disk that runs full, a real one: a photo is refused before anything names it, notes still go; where nothing fits any more, that is said,
// nothing is saved by half, and nothing that was saved is lost.
func TestPhoneOnAFullDisk(t *testing.T) {
	if chromium() == "" {
		missing(t, "no Chromium here: a full disk is not tried in a browser")
	}
	disk := t.TempDir()
	if err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=160m"); err != nil {
		t.Skipf("a small disk can't be mounted here: %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(disk, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	b := openIn(t, filepath.Join(disk, "profile"))
	f := newFirm(t)
	dev := f.enrolPhone(b)
	ballast := filepath.Join(disk, "ballast")
	fillTo(t, disk, ballast, 500<<10)
	b.hash("#/j/" + f.job + "/s/C1/3/photo")
	b.h1("A photo of")
	database := filepath.Join(disk, "profile", "Default", "IndexedDB")
	kept := sizeUnder(t, database)
	if kept == 0 {
		t.Fatal("the browser keeps its database elsewhere")
	}
	b.call("choose a photo", chromedp.SetUploadFiles(chromedp.CSS("#f-photos"), []string{noise(t)}))
	b.until("it is refused before anything is recorded", "document.querySelector('.errors')?.textContent.includes('Almost no space. New photos can')")
	b.until("the line says so", "document.querySelector('.line').textContent.includes('Almost no space. New photos can')")
	// The browser clears away the half of a picture that it had written, a few seconds after it has said that it failed, while the
	// database is asked for something.
	for end := time.Now().Add(20 * time.Second); sizeUnder(t, database) > kept+100<<10; time.Sleep(500 * time.Millisecond) {
		if !eval[bool](b, fromPhone(`read(['me'], async (db) => !!(await db.me.get('device')))`), chromedp.EvalAwaitPromise) {
			t.Fatal("the phone has forgotten who it is")
		}
		if time.Now().After(end) {
			t.Fatalf("twenty seconds after a picture was refused the database holds %d bytes, it held %d", sizeUnder(t, database), kept)
		}
	}
	// What the browser has meanwhile written of its own, caches and the like, is not what is tried here.
	if lack := 400<<10 - freeOn(t, disk); lack > 0 {
		shrink(t, ballast, lack)
	}
	notes(b, f, 0, 2)
	fillTo(t, disk, ballast, 0)
	says := eval[string](b, fromPhone(`(async () => {
		const { record } = await load('pen.js'), { present } = await load('account.js'), { full } = await load('store.js')
		try { // reading as well: what the page does by itself may have filled the disk before, and the browser then closes the database
			const who = await present()
			for (let i = 0; i < 400; i++) await record({ job: '`+f.job+`', kind: 'note', on: {}, body: { text: 'x'.repeat(3900) }, says: 'long' }, who)
		} catch (err) { return full(err) ? 'full' : String(err) }
		return 'it all fits'
	})()`), chromedp.EvalAwaitPromise)
	if says != "full" {
		t.Errorf("without space recording ends with %q", says)
	}
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	notes(b, f, 2, 3)
	n := int(eval[int64](b, fromPhone(`read(['entry'], (db) => db.entry.count())`), chromedp.EvalAwaitPromise))
	if got := exchange(b); got != "" || n < 3 {
		t.Fatalf("%d entries here, and the exchange ends with %q", n, got)
	}
	f.laneOf(dev, n)
}

// fillTo writes into a file until only so many bytes are free on the disk.
func fillTo(t *testing.T, disk, file string, free int64) {
	t.Helper()
	room := freeOn(t, disk) - free
	out, err := os.OpenFile(file, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	_, err = out.WriteString(strings.Repeat("x", int(max(0, room))))
	if err := errors.Join(err, out.Close()); err != nil && !errors.Is(err, syscall.ENOSPC) {
		t.Fatal(err)
	}
}

// shrink makes a file shorter.
func shrink(t *testing.T, file string, by int64) {
	t.Helper()
	was, err := os.Stat(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(file, max(0, was.Size()-by)); err != nil {
		t.Fatal(err)
	}
}

// sizeUnder is how much the files of a folder hold; one that goes while it is looked at holds nothing.
func sizeUnder(t *testing.T, dir string) (n int64) {
	t.Helper()
	err := filepath.WalkDir(dir, func(_ string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		if err != nil || d.IsDir() {
			return err
		}
		if info, err := d.Info(); err == nil {
			n += info.Size()
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// freeOn is how many bytes are free on the disk.
func freeOn(t *testing.T, disk string) int64 {
	t.Helper()
	var s syscall.Statfs_t
	if err := syscall.Statfs(disk, &s); err != nil {
		t.Fatal(err)
	}
	return int64(s.Bavail) * s.Bsize
}

// noise is a picture that packs badly: about 3 MB as the phone writes it.
func noise(t *testing.T) string {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, 1600, 1600))
	if _, err := rand.New(rand.NewSource(1)).Read(img.Pix); err != nil {
		t.Fatal(err)
	}
	for i := 3; i < len(img.Pix); i += 4 {
		img.Pix[i] = 255
	}
	path := filepath.Join(t.TempDir(), "noise.png")
	out, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(png.Encode(out, img), out.Close()); err != nil {
		t.Fatal(err)
	}
	return path
}
