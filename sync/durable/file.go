package durable

import (
	"bufio"
	"errors"
	"io"
	"os"
	"path/filepath"
)

// File puts a file in place whole, in place of what was there, flushed with its name, and readable by its owner alone.
func File(path string, write func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".new-*") // mode 0600
	if err != nil {
		return err
	}
	w := bufio.NewWriter(f)
	err = errors.Join(write(w), w.Flush(), f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return Folder(filepath.Dir(path))
}
