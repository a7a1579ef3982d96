package e2e_test

import (
	"bytes"
	"encoding/base64"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"tacet/jobs"
	"tacet/server/phone"
	"tacet/sync/replica"
)

// Cut off while out of reach: at the next contact the phone locks, and what it had not sent lies aside for the supervisor. The file that
// it can save instead is taken in too, changes nothing when it is taken in twice, and a changed byte is found.
func TestPhoneCutOffAndFile(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	dev := f.enrolPhone(b)
	f.net.set(true)
	notes(b, f, 0, 2)
	b.hash("#/j/" + f.job + "/s/C1/3/photo")
	b.h1("A photo of")
	b.call("take a photo", chromedp.SetUploadFiles(chromedp.CSS("#f-photos"), []string{picture(t)}))
	b.until("it is shown", "document.querySelector('.chosen img')")
	b.press("button.do")
	b.h1("Layer 1 hides")
	text := eval[string](b, fromPhone(`(async () => { const { unsentFile } = await load('waiting.js'), { toBase64 } = await load('bytes.js')
		return toBase64(new Uint8Array(await (await unsentFile()).blob.arrayBuffer())) })()`), chromedp.EvalAwaitPromise)
	file, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		t.Fatal(err)
	}
	take := func(file []byte) (phone.Imported, error) {
		return phone.Import(t.Context(), f.server.Replica, f.server.Accounts, bytes.NewReader(file), int64(len(file)))
	}
	changed := bytes.Replace(file, []byte(`\"kind\":\"note\"`), []byte(`\"kind\":\"nota\"`), 1)
	if bytes.Equal(changed, file) {
		t.Fatal("nothing was changed")
	}
	if _, err := take(changed); err == nil {
		t.Error("a changed file is taken in")
	}
	if got, err := take(file); err != nil || got.Entries != 3 || got.Photos != 1 || got.Held != 0 {
		t.Fatalf("%+v, %v", got, err)
	}
	if got, err := take(file); err != nil || got.Entries != 0 || got.Known != 3 {
		t.Errorf("taken in twice: %+v, %v", got, err)
	}
	notes(b, f, 2, 4)
	if err := f.server.Accounts.Revoke(t.Context(), dev); err != nil {
		t.Fatal(err)
	}
	f.net.set(false)
	if got := exchange(b); got != "device-revoked" {
		t.Errorf("the exchange ends with %q", got)
	}
	b.h1("This device was removed.")
	aside, err := f.server.Replica.Asides(t.Context(), f.co, dev)
	if err != nil || len(aside) != 2 {
		t.Errorf("%d records lie aside, %v", len(aside), err)
	}
	b.hash("#/j/" + f.job)
	b.h1("This device was removed.")
	if got := b.text("body"); strings.Contains(got, "Lantern") {
		t.Errorf("a phone that was cut off shows %q", got)
	}
	f.laneOf(dev, 3)
}

// The office's copy is restored from an old backup: the phone signs in again, sends again what the server lost, photo included, and
// says so meanwhile.
func TestPhoneAfterARestore(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	dev := f.enrolPhone(b)
	notes(b, f, 0, 2)
	if got := exchange(b); got != "" {
		t.Fatalf("the exchange ends with %q", got)
	}
	f.stop()
	old := filepath.Join(t.TempDir(), "backup")
	if err := os.CopyFS(old, os.DirFS(f.config.Dir)); err != nil {
		t.Fatal(err)
	}
	err := filepath.WalkDir(old, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			err = os.Chmod(path, 0o600) // as keys must be
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	f.start()
	notes(b, f, 2, 5)
	b.hash("#/j/" + f.job + "/s/C1/3/photo")
	b.h1("A photo of")
	b.call("take a photo", chromedp.SetUploadFiles(chromedp.CSS("#f-photos"), []string{picture(t)}))
	b.until("it is shown", "document.querySelector('.chosen img')")
	b.press("button.do")
	b.h1("Layer 1 hides")
	if got := exchange(b); got != "" {
		t.Fatalf("the exchange ends with %q", got)
	}
	f.laneOf(dev, 6)
	f.stop()
	f.config.Dir = old
	f.start()
	if got := exchange(b); got == "sign-in-needed" {
		b.hash("#/sign-in")
		b.h1("Who uses this phone?")
		b.call("sign in", chromedp.SetValue(chromedp.CSS("#f-login"), "idris"))
		b.enter("#f-password", phonePassword)
		b.press(".job .do")
		b.h1("1 job taken along.")
	}
	if got := exchange(b); got != "" {
		t.Fatalf("after the restore an exchange ends with %q", got)
	}
	es := f.laneOf(dev, 6)
	here := false
	for _, e := range es {
		for _, h := range e.Blobs {
			_, err := f.server.Replica.Photo(t.Context(), f.co, f.job, h)
			here = err == nil
		}
	}
	if !here {
		t.Error("the photo did not come again")
	}
	b.until("all is well", "document.querySelector('.line').textContent.includes('All changes sent')")
}

// What the rules do not allow is sent and held by the server, with its reason, and never dropped: here the office made somebody a supervisor
// while their phone, which still says that they are site, was out of reach.
func TestPhoneHeld(t *testing.T) {
	b := open(t)
	f := newFirm(t)
	dev := f.enrolPhone(b)
	f.net.set(true)
	notes(b, f, 0, 1)
	if err := f.server.Accounts.SetRole(t.Context(), f.co, f.site.Person, jobs.Supervisor); err != nil {
		t.Fatal(err)
	}
	f.net.set(false)
	if got := exchange(b); got != "" {
		t.Fatalf("the exchange ends with %q", got)
	}
	es := f.records(dev)
	if len(es) != 1 || es[0].State != replica.Held {
		t.Fatalf("%v", es)
	}
	b.hash("#/waiting")
	b.until("it says so", "document.querySelector('main').textContent.includes('1 record waits for the supervisor. It is kept and nobody else counts on it yet.')")
	b.until("and why", "document.querySelector('.records').textContent.includes('the person named is supervisor, not site')")
	notes(b, f, 1, 2)
	if got := exchange(b); got != "" {
		t.Fatalf("the exchange ends with %q", got)
	}
	if es = f.records(dev); len(es) != 2 || es[1].State != replica.Standing && es[0].State != replica.Standing {
		t.Errorf("with the new role: %v", es)
	}
}
