package durable_test

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"tacet/sync/durable"
)

// A file is replaced whole or not at all, and nothing is left beside it.
func TestFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "keys")
	text := func(s string, err error) func(io.Writer) error {
		return func(w io.Writer) error {
			_, wrote := io.WriteString(w, s)
			return errors.Join(wrote, err)
		}
	}
	full := errors.New("no space")
	if err := errors.Join(durable.File(path, durable.Open, text("one", nil)), durable.File(path, durable.Secret, text("two", nil))); err != nil {
		t.Fatal(err)
	}
	if err := durable.File(path, durable.Secret, text("thr", full)); !errors.Is(err, full) || err.Error() != full.Error() {
		t.Errorf("a write that failed says %v", err)
	}
	if err := durable.New(path, durable.Secret, text("four", nil)); !errors.Is(err, fs.ErrExist) {
		t.Errorf("a new one in its place: %v", err)
	}
	list, err := os.ReadDir(dir)
	if err != nil || len(list) != 1 {
		t.Errorf("left in the folder: %v, %v", list, err)
	}
	if got, err := os.ReadFile(path); err != nil || string(got) != "two" {
		t.Errorf("%q, %v", got, err)
	}
	if info, err := os.Stat(path); err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("%v, %v", info, err)
	}
	open := filepath.Join(dir, "sheet")
	if err := durable.New(open, durable.Open, text("for all", nil)); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(open); err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o644 {
		t.Errorf("%v, %v", info, err)
	}
	if list, err := os.ReadDir(dir); err != nil || len(list) != 2 {
		t.Errorf("left in the folder: %v, %v", list, err)
	}
}

// What can't be put in place is named as who asked for it knows it.
func TestFileThatCantBe(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	nothing := func(io.Writer) error { return nil }
	for name, path := range map[string]string{"no folder": filepath.Join(dir, "none", "keys"), "a file for a folder": filepath.Join(file, "keys"), "a folder for a file": dir} {
		var at *fs.PathError
		if err := durable.File(path, durable.Secret, nothing); !errors.As(err, &at) || at.Path != path || strings.Contains(err.Error(), ".new-") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if list, err := os.ReadDir(dir); err != nil || len(list) != 1 {
		t.Errorf("left in the folder: %v, %v", list, err)
	}
}
