package app

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"

	"tacet/sync/durable"
)

// lineFile is a file of JSON lines that only grows. What was added is on the disk when add returns; a line that a crash cut off is left out
// when it is read, and harms none that follow.
type lineFile struct {
	path string
	mu   sync.Mutex
}

// add writes lines at the end, in one piece, and syncs them.
func (f *lineFile) add(lines ...any) (err error) {
	text := []byte{'\n'} // ends what a crash may have cut off
	for _, l := range lines {
		b, err := json.Marshal(l)
		if err != nil {
			return fmt.Errorf("write %s: %w", filepath.Base(f.path), err)
		}
		text = append(append(text, b...), '\n')
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	dir := filepath.Dir(f.path)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("write %s: %w", filepath.Base(f.path), err)
	}
	file, err := os.OpenFile(f.path, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("write %s: %w", filepath.Base(f.path), err)
	}
	_, err = file.Write(text)
	if err := errors.Join(err, file.Sync(), file.Close(), durable.Folder(dir)); err != nil {
		return fmt.Errorf("write %s: %w", filepath.Base(f.path), err)
	}
	return nil
}

// each gives every line to take; one that is no JSON of its kind take leaves out.
func (f *lineFile) each(take func(line []byte)) error {
	file, err := os.Open(f.path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("read %s: %w", filepath.Base(f.path), err)
	}
	defer file.Close()
	in := bufio.NewReader(file)
	for {
		line, err := in.ReadBytes('\n')
		take(line)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return fmt.Errorf("read %s: %w", filepath.Base(f.path), err)
		}
	}
}
