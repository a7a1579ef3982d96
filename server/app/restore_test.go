package app_test

import (
	"archive/zip"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/app"
	"tacet/server/ops"
	"tacet/sync/wire"
)

// A server burns down and comes back from a backup of days ago: what devices recorded since comes back from them, once. It does so with
// the server's keys beside the backup as well as in it.
func TestRestore(t *testing.T) {
	t.Run("keys-beside", func(t *testing.T) { restores(t) })
	t.Run("keys-inside", func(t *testing.T) { restores(t, "--with-keys") })
}

func restores(t *testing.T, flags ...string) {
	w := newWorld(t, tempFolder(t))
	d := w.enrol(w.co, "m.reed", jobs.Site)
	r := d.record()
	job := d.importJob(r)
	d.do(r, job, `{"do":"note","text":"before the backup"}`)
	d.sync(r)
	file := filepath.Join(t.TempDir(), "backup.zip")
	do(t, w.folder.Dir, "", slices.Concat([]string{"backup"}, flags, []string{file})...).want(t, "backup", 0, "")
	if info, err := os.Stat(filepath.Join(filepath.Dir(file), ops.ServerKeys)); len(flags) == 0 && (err != nil || info.Mode().Perm() != 0o600) || len(flags) > 0 && err == nil {
		t.Errorf("the keys beside a backup %v: %v, %v", flags, info, err)
	}
	d.do(r, job, `{"do":"note","text":"after the backup"}`)
	d.sync(r)
	d.do(r, job, `{"do":"note","text":"not sent yet"}`)
	// What somebody recorded on the server's own pages after the backup is lost with it, unless a device had fetched it.
	if _, err := w.Replica.Record(t.Context(), w.co.ID, d.author(), job, edges(`{"do":"note","text":"on the pages, fetched"}`)); err != nil {
		t.Fatal(err)
	}
	d.sync(r)

	data := filepath.Join(t.TempDir(), "new")
	if r := do(t, data, "", "restore", file); r.code != 0 || !strings.Contains(r.talk, "Nothing was changed") {
		t.Fatalf("restore: %+v", r)
	}
	if r := do(t, data, "", "restore", file); r.code != 2 {
		t.Errorf("restore over a database: %+v", r)
	}
	if left, err := filepath.Glob(filepath.Join(data, ".restore-*")); err != nil || len(left) != 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
	again := &world{t: t, log: &logText{}, folder: app.Folder{Dir: data}, co: w.co}
	again.Running = startOn(t, again.folder, again.log)
	d.moveTo(again)
	// The access token names the server's old id; as any that has run out, it is exchanged for another.
	fresh, err := d.http.Refresh(t.Context(), wire.RefreshRequest{RefreshToken: d.answer.RefreshToken, Device: d.id, Key: d.key})
	if err != nil {
		t.Fatalf("a sign-in of before the backup: %v", err)
	}
	d.answer.Tokens = fresh
	for range 3 {
		d.sync(r)
	}
	theirs, err := again.Replica.Job(t.Context(), w.co.ID, job)
	if err != nil {
		t.Fatal(err)
	}
	said := map[string]int{}
	for _, n := range theirs.Of("note") {
		said[n.What.(*jobs.Note).Text]++
	}
	if said["before the backup"] != 1 || said["after the backup"] != 1 || said["not sent yet"] != 1 {
		t.Errorf("the restored server has %v", said)
	}
	if _, err := again.Replica.VerifyLog(t.Context(), w.co.ID); err != nil {
		t.Error(err)
	}
}

// What is no sound backup puts nothing in place.
func TestRestoreRefuses(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	jobToTry(t, w.enrol(w.co, "m.reed", jobs.Site))
	whole, keyless := filepath.Join(t.TempDir(), "a.zip"), filepath.Join(t.TempDir(), "b.zip")
	do(t, w.folder.Dir, "", "backup", "--with-keys", whole).want(t, "backup", 0, "")
	do(t, w.folder.Dir, "", "backup", keyless).want(t, "backup", 0, "")
	write := func(name string, b []byte) string {
		p := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(p, b, 0o600); err != nil {
			t.Fatal(err)
		}
		return p
	}
	own := filepath.Join(filepath.Dir(keyless), ops.ServerKeys)
	keys, err := os.ReadFile(own)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(own); err != nil {
		t.Fatal(err)
	}
	beside := func(name string, keys []byte) string {
		data, err := os.ReadFile(keyless)
		if err != nil {
			t.Fatal(err)
		}
		file := write(name, data)
		if err := os.WriteFile(filepath.Join(filepath.Dir(file), ops.ServerKeys), keys, 0o600); err != nil {
			t.Fatal(err)
		}
		return file
	}
	bytes, err := os.ReadFile(whole)
	if err != nil {
		t.Fatal(err)
	}
	for name, file := range map[string]string{
		"not there":          filepath.Join(t.TempDir(), "none.zip"),
		"no zip":             write("x.zip", []byte("hello")),
		"cut":                write("cut.zip", bytes[:len(bytes)/2]),
		"without keys":       keyless,
		"keys cut":           beside("c.zip", keys[:len(keys)/2]),
		"no keys":            beside("d.zip", []byte("{}")),
		"keys that lead out": beside("e.zip", []byte(strings.Replace(string(keys), "record.pem", "../record.pem", 1))),
		"a photo changed": rewrite(t, whole, func(name string, b []byte) (string, []byte) {
			if strings.HasPrefix(name, "photos/") {
				b[len(b)-1] ^= 1
			}
			return name, b
		}),
		"a file more": rewrite(t, whole, func(name string, b []byte) (string, []byte) {
			return strings.Replace(name, "keys/token.pem", "keys/other.pem", 1), b
		}),
		"a name that leads out": rewrite(t, whole, func(name string, b []byte) (string, []byte) {
			b = []byte(strings.ReplaceAll(string(b), "keys/token.pem", "keys/../../token.pem"))
			return strings.Replace(name, "keys/token.pem", "keys/../../token.pem", 1), b
		}),
	} {
		data := filepath.Join(t.TempDir(), "d")
		if r := do(t, data, "", "restore", file); r.code != 2 {
			t.Errorf("%s: %+v", name, r)
		}
		if list, err := os.ReadDir(data); err == nil && len(list) > 0 {
			t.Errorf("%s: %v was put in place", name, list)
		}
	}
}

// rewrite copies a zip, each file as change makes it.
func rewrite(t *testing.T, file string, change func(string, []byte) (string, []byte)) string {
	t.Helper()
	in, err := zip.OpenReader(file)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	path := filepath.Join(t.TempDir(), "changed.zip")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	z := zip.NewWriter(f)
	for _, e := range in.File {
		r, err := e.Open()
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		name, b := change(e.Name, b)
		part, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := part.Write(b); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}
