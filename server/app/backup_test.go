package app_test

import (
	"archive/zip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"image/color"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/ops"
	"tacet/sync/replica"
	"tacet/sync/store"
)

// A backup made while a server takes entries opens as a server that holds all that was confirmed before.
func TestBackupBesideARunningServer(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	d := w.enrol(w.co, "m.reed", jobs.Site)
	r := d.record()
	job := d.importJob(r)
	sha, err := d.blobs.Put(t.Context(), w.co.ID, picture(t, color.Gray{50}))
	if err != nil {
		t.Fatal(err)
	}
	d.do(r, job, `{"do":"photo","surface":"C1","file":"`+sha.String()+`"}`)
	d.sync(r)
	want, err := w.Replica.Job(t.Context(), w.co.ID, job)
	if err != nil {
		t.Fatal(err)
	}

	file := filepath.Join(t.TempDir(), "backup.zip")
	do(t, w.folder.Dir, "", "backup", file).want(t, "backup", 0, "")
	info, err := os.Stat(file)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the backup is %v, %v", info, err)
	}
	dir := unpack(t, file)
	if _, err := os.Stat(filepath.Join(dir, "keys")); err == nil {
		t.Error("the backup holds keys without being told to")
	}
	st, err := store.Open(t.Context(), filepath.Join(dir, "tacet.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	if blob, err := os.ReadFile(photoFile(t, dir, w.co.ID, sha)); err != nil || jobs.HashBlob(blob) != sha {
		t.Errorf("the photo in the backup: %v", err)
	}
	db, err := st.DB().DB()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := ops.ReadPeopleKeys(t.Context(), db, filepath.Join(filepath.Dir(file), ops.PeopleKeys)); err != nil {
		t.Fatal(err)
	}
	copied := replica.New(replica.Config{Store: st, Device: w.keys.Server, Key: w.keys.Record, Now: time.Now})
	got, err := copied.Job(t.Context(), w.co.ID, job)
	if err != nil {
		t.Fatal(err)
	}
	if export(t, got) != export(t, want) {
		t.Error("the backup holds another job")
	}
	if _, err := copied.VerifyLog(t.Context(), w.co.ID); err != nil {
		t.Error(err)
	}

	file = filepath.Join(t.TempDir(), "with-keys.zip")
	do(t, w.folder.Dir, "", "backup", "--with-keys", file).want(t, "backup with keys", 0, "")
	if _, err := accounts.LoadKeys(filepath.Join(unpack(t, file), "keys")); err != nil {
		t.Errorf("the keys in the backup: %v", err)
	}
}

// unpack checks a backup against its manifest and unpacks it.
func unpack(t *testing.T, file string) string {
	t.Helper()
	z, err := zip.OpenReader(file)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	dir := t.TempDir()
	var m ops.Manifest
	sums := map[string]ops.File{}
	for _, f := range z.File {
		part, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(part)
		if err != nil {
			t.Fatal(err)
		}
		if f.Name == "manifest.json" {
			if err := json.Unmarshal(data, &m); err != nil {
				t.Fatal(err)
			}
			continue
		}
		sum := sha256.Sum256(data)
		sums[f.Name] = ops.File{Size: int64(len(data)), SHA256: hex.EncodeToString(sum[:])}
		path := filepath.Join(dir, filepath.FromSlash(f.Name))
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if len(m.Files) != len(sums) || m.Format != 1 {
		t.Fatalf("the manifest lists %d files, the backup holds %d", len(m.Files), len(sums))
	}
	for name, f := range sums {
		if m.Files[name] != f {
			t.Errorf("%s is not what the manifest says", name)
		}
	}
	return dir
}

func photoFile(t *testing.T, dir, co string, sha jobs.Hash) string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(dir, "photos", co, "*", hex.EncodeToString(sha[:])+".*"))
	if err != nil || len(found) != 1 {
		t.Fatalf("photos found: %v, %v", found, err)
	}
	return found[0]
}

func TestVerifyFindsAChange(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	d := w.enrol(w.co, "m.reed", jobs.Site)
	r := d.record()
	job := d.importJob(r)
	d.do(r, job, `{"do":"install","surface":"C1","layer":1,"share":1,"mass_kg_m2":12.6}`)
	d.sync(r)
	do(t, w.folder.Dir, "", "verify").want(t, "verify", 0, "")
	if err := w.Tamper(); err != nil {
		t.Fatal(err)
	}
	bad := do(t, w.folder.Dir, "", "verify")
	bad.want(t, "verify after a change", 1, "")
	if !strings.Contains(bad.talk, "changed") {
		t.Errorf("said %q", bad.talk)
	}
}
