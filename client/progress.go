package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"tacet/jobs"
)

// progressEvery is how often the line is written anew.
const progressEvery = 100 * time.Millisecond

// progress says at a terminal how far a command is that goes through a job's photos: one line, written over, and gone at the end. Photos
// are what makes a paper or an archive long; each is counted once, however often it is shown.
type progress struct {
	to    io.Writer // nil: nobody looks
	doing string
	of    int
	seen  map[jobs.Hash]bool
	last  time.Time
	wide  int
}

// progress begins to count the photos of a job. Nothing is said where nobody sits at a terminal.
func (s *session) progress(doing string, j *jobs.Job) *progress {
	all := map[jobs.Hash]bool{}
	for _, r := range j.Records {
		for _, h := range r.Blobs {
			all[h] = true
		}
	}
	p := &progress{doing: doing, of: len(all), seen: map[jobs.Hash]bool{}}
	if isTerminal(s.Err) {
		p.to = s.Err
	}
	return p
}

// at notes that a photo is being read, and fails where the command was interrupted.
func (p *progress) at(ctx context.Context, h jobs.Hash) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	p.seen[h] = true
	if p.to == nil || time.Since(p.last) < progressEvery {
		return nil
	}
	p.last = time.Now()
	p.write(fmt.Sprintf("%s: photo %d of %d. Ctrl-C stops; nothing is left behind.", p.doing, len(p.seen), p.of))
	return nil
}

// done takes the line away.
func (p *progress) done() {
	if p.to != nil && p.wide > 0 {
		p.write("")
		fmt.Fprint(p.to, "\r")
	}
}

func (p *progress) write(line string) {
	n := len([]rune(line))
	fmt.Fprint(p.to, "\r", line, strings.Repeat(" ", max(p.wide-n, 0)))
	p.wide = n
}
