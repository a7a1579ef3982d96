package main

import "io"

// stdio is where a command reads and writes: data in, data out, talk on Err. Tests pass buffers.
type stdio struct {
	In  io.Reader
	Out io.Writer
	Err io.Writer
}
