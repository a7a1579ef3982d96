package app_test

import (
	"archive/zip"
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/app"
)

const lodger = "Mrs Lindqvist, flat 3, hears every step"

// complained is a job with a complaint of somebody who has no account.
func complained(t *testing.T, w *world) (d *tablet, job string, e jobs.Entry) {
	t.Helper()
	d = w.enrol(w.co, "o.ferry", jobs.Office)
	r := d.record()
	job = d.importJob(r)
	es, err := r.Record(t.Context(), w.co.ID, d.author(), job, edges(`{"do":"complaint","words":"`+lodger+`","kind":"footsteps","received":"phone","from":"Mrs Lindqvist"}`))
	if err != nil {
		t.Fatal(err)
	}
	d.sync(r)
	return d, job, es[0]
}

func words(t *testing.T, w *world, job string) string {
	t.Helper()
	j, err := w.Replica.Job(t.Context(), w.co.ID, job)
	if err != nil {
		t.Fatal(err)
	}
	return j.Complaints()[0].Complaint.Words
}

// A backup of before an erasure holds the words sealed and no key; with the newest file of keys it is restored, proves whole, and
// the words stay erased. Without the file nothing that is sealed can be read, and taking it in later gives it back.
func TestErasureReachesOldBackups(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	d, job, e := complained(t, w)
	dir := t.TempDir()
	old, keys := filepath.Join(dir, "old.zip"), filepath.Join(dir, "people.keys")
	do(t, w.folder.Dir, "", "backup", "--with-keys", old).want(t, "backup", 0, "")
	before, err := os.ReadFile(keys)
	if err != nil || bytes.Count(before, []byte("\n")) != 1 {
		t.Fatalf("the file of keys: %q, %v", before, err)
	}
	if st, err := os.Stat(keys); err != nil || st.Mode().Perm() != 0o600 {
		t.Errorf("the file of keys is %v, %v", st.Mode(), err)
	}
	for name, b := range unzip(t, old) {
		if bytes.Contains(b, e.Key) || bytes.Contains(b, []byte("Lindqvist")) {
			t.Errorf("%s of the backup holds the key or the words", name)
		}
	}
	restored := func(args ...string) string {
		data := filepath.Join(t.TempDir(), "new")
		if r := do(t, data, "", append([]string{"restore", old}, args...)...); r.code != 0 || !strings.Contains(r.talk, "Nothing was changed") {
			t.Fatalf("restore: %+v", r)
		}
		return data
	}
	reads := func(data string) string {
		again := &world{t: t, log: &logText{}, folder: app.Folder{Dir: data}, co: w.co}
		again.Running = startOn(t, again.folder, again.log)
		return words(t, again, job)
	}
	if got := reads(restored()); got != lodger {
		t.Errorf("before the erasure, with its keys, the backup reads %q", got)
	}
	if _, err := w.Replica.Record(t.Context(), w.co.ID, d.author(), job, edges(`{"do":"erasure","of":["`+e.ID+`"],"reason":"asked"}`)); err != nil {
		t.Fatal(err)
	}
	if got := words(t, w, job); got != jobs.Erased {
		t.Errorf("the server reads %q", got)
	}
	do(t, w.folder.Dir, "", "backup", filepath.Join(dir, "new.zip")).want(t, "backup", 0, "")
	if got := reads(restored()); got != jobs.Erased {
		t.Errorf("the old backup with the newest keys reads %q", got)
	}
	lost := filepath.Join(t.TempDir(), "kept.keys")
	if err := os.Rename(keys, lost); err != nil {
		t.Fatal(err)
	}
	data := restored()
	if err := os.WriteFile(lost, before, 0o600); err != nil {
		t.Fatal(err)
	}
	do(t, data, "", "people-keys", lost).want(t, "take the keys in", 0, "")
	if got := reads(data); got != lodger {
		t.Errorf("with the keys taken in later it reads %q", got)
	}
	if err := os.WriteFile(lost, []byte("{}\nhello"), 0o600); err != nil {
		t.Fatal(err)
	}
	do(t, data, "", "people-keys", lost).want(t, "take in what is no file of keys", 2, "")
}

func unzip(t *testing.T, path string) map[string][]byte {
	t.Helper()
	z, err := zip.OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	files := map[string][]byte{}
	for _, f := range z.File {
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if files[f.Name], err = io.ReadAll(in); err != nil {
			t.Fatal(err)
		}
	}
	return files
}
