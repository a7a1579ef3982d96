package main

import (
	"io"
	"os"
)

// stdio is where a command reads and writes: data in, data out, talk on Err. Tests pass buffers.
type stdio struct {
	In  io.Reader
	Out io.Writer
	Err io.Writer
}

// atTerminal tells whether a person sits before the command: what it reads and where it talks are both a terminal.
func (s stdio) atTerminal() bool { return isTerminal(s.In) && isTerminal(s.Err) }

func isTerminal(x any) bool {
	f, ok := x.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	if err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return false
	}
	// The null device is a character device too, and nobody sits there.
	null, err := os.Stat(os.DevNull)
	return err != nil || !os.SameFile(info, null)
}
