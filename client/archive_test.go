package main

import (
	"archive/zip"
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A changed archive ends with exit code 1 and the first broken entry; the rule of what is broken is tested in sync/archive.
func TestVerifyNamesTheBrokenEntry(t *testing.T) {
	dir := t.TempDir()
	command := func(want int, in string, args ...string) (string, string) {
		t.Helper()
		var out, talk bytes.Buffer
		if code := run(append([]string{"--home", filepath.Join(dir, "home")}, args...), stdio{In: strings.NewReader(in), Out: &out, Err: &talk}); code != want {
			t.Fatalf("client %s: exit %d, want %d: %s", args, code, want, talk.String())
		}
		return strings.TrimSpace(out.String()), talk.String()
	}
	job, _ := command(0, `{"name":"one","surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`, "job", "import", "-")
	id, _ := command(0, `{"do":"install","surface":"W1","layer":1,"share":1,"mass_kg_m2":12.6}`, "record", job, "--file", "-")
	file := filepath.Join(dir, "job.zip")
	command(0, "", "job", "archive", job, "-o", file)
	changed := filepath.Join(dir, "changed.zip")
	rewrite(t, file, changed, func(name string, data []byte) []byte {
		if strings.Contains(name, id) && strings.HasSuffix(name, ".body.json") {
			return bytes.Replace(data, []byte(`"12.6"`), []byte(`"12.8"`), 1)
		}
		return data
	})
	if _, talk := command(1, "", "verify", changed); !strings.Contains(talk, id) || strings.Count(talk, "\n") != 1 {
		t.Errorf("the broken entry %s is not named in one line: %q", id, talk)
	}
}

// rewrite copies a zip, each file as change has it.
func rewrite(t *testing.T, from, to string, change func(name string, data []byte) []byte) {
	t.Helper()
	z, err := zip.OpenReader(from)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, f := range z.File {
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(in)
		if err != nil {
			t.Fatal(err)
		}
		out, err := w.Create(f.Name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := out.Write(change(f.Name, data)); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(to, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}
