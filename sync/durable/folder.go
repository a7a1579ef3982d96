// Package durable makes the names in a folder survive a power cut: a file that was written and flushed is lost with its name, as long as
// the folder that names it was not flushed too.
package durable

import (
	"errors"
	"fmt"
	"os"
	"runtime"
	"syscall"
)

// Folder flushes what a folder names. Where a folder can't be flushed (on Windows none, on some network drives) the system keeps names in
// its own way, and there is nothing to do.
func Folder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("flush the folder %s: %w", dir, err)
	}
	if runtime.GOOS != "windows" {
		if err = d.Sync(); errors.Is(err, errors.ErrUnsupported) || errors.Is(err, syscall.EINVAL) {
			err = nil
		}
	}
	if err = errors.Join(err, d.Close()); err != nil {
		return fmt.Errorf("flush the folder %s: %w", dir, err)
	}
	return nil
}
