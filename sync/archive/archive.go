// Package archive puts a whole job into one file that both sides of a dispute can read: every entry as its bytes, every
// version, the photos, the sheets, a timeline as a page and as a table, and a manifest with the SHA-256 of each. It is a
// zip; nothing of this program is needed to read it.
//
//	READ-ME.txt     what this is and what it proves
//	timeline.html   what was specified, agreed, done, seen and changed, then every entry in order
//	timeline.csv    the entries as a table
//	job.json        the settled state, in its one form
//	entries/        each entry as two files of bytes: envelope and body
//	photos/         by their hash
//	sheets/         what was printed from the record
//	seals.json      signatures of devices and server, and the keys to check them with
//	manifest.json   every file with its length and SHA-256, and every entry in order
//
// Map: archive.go what goes in, gathered from a store; write.go the zip; timeline.go the page and the table; verify.go
// checks a zip against itself, frame.go what of it is no content.
package archive

import (
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
)

// Content is all that an archive holds.
type Content struct {
	Company, Job string
	Entries      []replica.Stored // all, those that do not count included
	Seals        []replica.Seal
	Keys         map[string]ed25519.PublicKey // of the devices
	ServerKey    ed25519.PublicKey            // nil where no server ever had the job
	Names        map[string]string            // of people, by id
	Made         time.Time                    // now
	// Sheets are printed files by name: pack.pdf, sheets.pdf, timeline.pdf.
	Sheets map[string][]byte
	// Photo gives a photo that an entry names, [jobs.ErrNotFound] where it has not arrived.
	Photo func(ctx context.Context, h jobs.Hash) ([]byte, error)
}

// Collect gathers a job's entries, seals, keys and names from a store.
func Collect(ctx context.Context, s replica.Store, co, job string) (Content, error) {
	c := Content{Company: co, Job: job, Keys: map[string]ed25519.PublicKey{}, Names: map[string]string{}}
	err := s.Read(ctx, co, func(tx replica.Tx) (err error) {
		if c.Entries, err = tx.Entries(job, 0); err != nil {
			return err
		}
		if len(c.Entries) == 0 {
			return replica.ErrNoJob
		}
		if c.Seals, err = tx.SealsOf(job); err != nil {
			return err
		}
		for _, e := range c.Entries {
			if _, done := c.Keys[e.Dev]; done {
				continue
			}
			d, err := tx.Device(e.Dev)
			if errors.Is(err, jobs.ErrNotFound) {
				continue
			}
			if err != nil {
				return err
			}
			c.Keys[e.Dev] = d.Key
		}
		people, err := tx.People()
		if err != nil {
			return err
		}
		for _, p := range people {
			c.Names[p.ID] = p.Name
		}
		me, err := tx.Me()
		if errors.Is(err, replica.ErrNoHome) {
			return nil // a server: it signs receipts itself and gives its key
		}
		c.ServerKey = me.ServerKey
		return err
	})
	if err != nil {
		return c, fmt.Errorf("gather job %s: %w", job, err)
	}
	return c, nil
}

// broken says what is not as it was written.
func broken(format string, args ...any) error {
	return &replica.Refusal{Err: replica.ErrBroken, Says: fmt.Sprintf(format, args...)}
}
