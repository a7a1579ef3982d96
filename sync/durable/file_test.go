package durable_test

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
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
	if err := errors.Join(durable.File(path, text("one", nil)), durable.File(path, text("two", nil))); err != nil {
		t.Fatal(err)
	}
	if err := durable.File(path, text("thr", full)); !errors.Is(err, full) {
		t.Errorf("a write that failed says %v", err)
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
}
