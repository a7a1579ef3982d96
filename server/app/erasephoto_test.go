package app_test

import (
	"encoding/hex"
	"errors"
	"image/color"
	"io/fs"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tacet/jobs"
)

// photoFiles are the files of a photo below a folder.
func photoFiles(t *testing.T, dir string, h jobs.Hash) (list []string) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
		if err == nil && strings.Contains(path, hex.EncodeToString(h[:])) {
			list = append(list, path)
		}
		return err
	})
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	return list
}

// The office erases a photo on its page, after its password: the file is gone from the server and from the tablet, the server takes it no
// more, each page says so in its place, and a backup that was made before does not bring it back.
func TestAPhotoIsErasedOnAPage(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	w.user(w.co, "o.ferry", jobs.Office)
	site := w.enrol(w.co, "m.reed", jobs.Site)
	r := site.record()
	job := site.importJob(r)
	var pics []jobs.Hash
	for _, c := range []uint8{80, 200} {
		h, err := site.blobs.Put(t.Context(), w.co.ID, picture(t, color.Gray{c}))
		if err != nil {
			t.Fatal(err)
		}
		site.do(r, job, `{"do":"photo","surface":"C1","layer":1,"file":"`+h.String()+`"}`)
		pics = append(pics, h)
	}
	site.sync(r)
	file := filepath.Join(t.TempDir(), "backup.zip")
	do(t, w.folder.Dir, "", "backup", "--with-keys", file).want(t, "backup", 0, "")

	face, seal := pics[0], pics[1]
	at := "/jobs/" + job + "/photos/" + face.String()
	office, surface := w.signIn("o.ferry"), "/jobs/"+job+"/s/C1/history"
	if got := string(office.get(surface).body); strings.Count(got, `<img src="/jobs/`) != 2 || !strings.Contains(got, at+"/erase") {
		t.Fatalf("the office does not find where a photo is erased: %s", got)
	}
	if got := office.post(at+"/erase", url.Values{"reason": {"shows"}, "own": {"wicker plum anchor"}}, nil); got.status != http.StatusUnprocessableEntity {
		t.Errorf("with a wrong password: %d", got.status)
	}
	if got := office.post(at+"/erase", url.Values{"own": {password}}, nil); got.status != http.StatusUnprocessableEntity {
		t.Errorf("without a reason: %d", got.status)
	}
	if len(photoFiles(t, w.folder.Dir, face)) != 1 {
		t.Error("what was refused was done")
	}
	if got := office.post(at+"/erase", url.Values{"reason": {"shows"}, "own": {password}}, nil); got.status != http.StatusSeeOther {
		t.Fatalf("erase: %d %s", got.status, string(got.body))
	}
	if left := photoFiles(t, w.folder.Dir, face); len(left) != 0 {
		t.Errorf("still on the server: %v", left)
	}
	if got := string(office.get(surface).body); strings.Count(got, `<img src="/jobs/`) != 1 || !strings.Contains(got, "Photo erased on ") || !strings.Contains(got, "it shows a person or a home") {
		t.Errorf("the page does not say so: %s", got)
	}
	if got := office.get(at); got.status != http.StatusGone {
		t.Errorf("the photo's own address: %d", got.status)
	}
	path := "/v1/jobs/" + job + "/photos/" + face.String()
	w.call(request{method: "GET", path: path, token: site.answer.AccessToken}).problem(t, "fetch it", http.StatusGone)
	if got := w.call(request{method: "PUT", path: path, token: site.answer.AccessToken, body: picture(t, color.Gray{80})}); got.status != http.StatusOK {
		t.Errorf("a device that brings it again gets %d, and would bring it for ever", got.status)
	}
	if left := photoFiles(t, w.folder.Dir, face); len(left) != 0 {
		t.Errorf("brought back: %v", left)
	}
	site.sync(r)
	if _, err := site.blobs.Size(t.Context(), w.co.ID, face); !errors.Is(err, jobs.ErrNotFound) {
		t.Errorf("still on the tablet: %v", err)
	}
	if _, err := site.blobs.Size(t.Context(), w.co.ID, seal); err != nil {
		t.Errorf("the other photo: %v", err)
	}
	do(t, w.folder.Dir, "", "verify").want(t, "verify", 0, "")

	// A backup of before holds it; what is restored does not.
	ledger := filepath.Join(w.folder.Dir, "ledger")
	if b, err := os.ReadFile(filepath.Join(ledger, "erased.jsonl")); err != nil || !strings.Contains(string(b), `"photo":"`+face.String()+`"`) {
		t.Errorf("the ledger: %s, %v", b, err)
	}
	data := filepath.Join(t.TempDir(), "new")
	do(t, data, "", "--ledger", ledger, "restore", file).want(t, "restore", 0, "")
	if left := photoFiles(t, data, face); len(left) != 0 {
		t.Errorf("restored: %v", left)
	}
	if left := photoFiles(t, data, seal); len(left) != 1 {
		t.Errorf("the other photo was not restored: %v", left)
	}
	do(t, data, "", "doctor").want(t, "doctor", 0, "(?s).*photos.*")
}
