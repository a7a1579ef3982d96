package durable_test

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"tacet/sync/durable"
)

// A file gets its name, and the folder is flushed: only then may somebody be told that it is kept.
func ExampleFolder() {
	dir, err := os.MkdirTemp("", "durable-")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	fmt.Println(os.WriteFile(filepath.Join(dir, "kept"), []byte("12.6"), 0o600), durable.Folder(dir))
	fmt.Println(errors.Is(durable.Folder(filepath.Join(dir, "gone")), fs.ErrNotExist))
	// Output:
	// <nil> <nil>
	// true
}
