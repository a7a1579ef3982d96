package durable

import (
	"bufio"
	"cmp"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// Who may read a file: its owner alone, or all on this machine.
const (
	Secret fs.FileMode = 0o600
	Open   fs.FileMode = 0o644
)

// Unfinished begins the name of a file that a crash left half written beside its place.
const Unfinished = ".new-"

// Bytes writes what is there already.
func Bytes(data []byte) func(io.Writer) error {
	return func(w io.Writer) error { _, err := w.Write(data); return err }
}

// File puts a file in place whole, in place of what was there, flushed with its name. An error of write comes back as it is; where the
// file can't be put there, the error is a [*fs.PathError] of path, whatever the file was called on the way.
func File(path string, may fs.FileMode, write func(io.Writer) error) error {
	return put(path, may, write, os.Rename)
}

// New is [File] where there is none yet, else the error is [fs.ErrExist]: of several who try at once one succeeds.
func New(path string, may fs.FileMode, write func(io.Writer) error) error {
	return put(path, may, write, os.Link)
}

func put(path string, may fs.FileMode, write func(io.Writer) error, place func(from, to string) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), Unfinished+"*")
	if err != nil {
		return in(path, err)
	}
	w := bufio.NewWriter(f)
	said := write(w)
	// Flush repeats what the disk refused while write was writing.
	err = cmp.Or(in(path, cmp.Or(w.Flush(), f.Chmod(may), f.Sync(), f.Close())), said)
	if err == nil {
		err = in(path, place(f.Name(), path))
	}
	if gone := os.Remove(f.Name()); gone != nil && !errors.Is(gone, fs.ErrNotExist) { // a rename took it
		err = cmp.Or(err, in(path, gone))
	}
	if err != nil {
		return err
	}
	return Folder(filepath.Dir(path))
}

// in names the file that was to be written, in place of the one beside it.
func in(path string, err error) error {
	if p, ok := errors.AsType[*fs.PathError](err); ok {
		err = p.Err
	} else if l, ok := errors.AsType[*os.LinkError](err); ok {
		err = l.Err
	}
	if err == nil {
		return nil
	}
	return &fs.PathError{Op: "write", Path: path, Err: err}
}
