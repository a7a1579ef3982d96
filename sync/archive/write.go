package archive

import (
	"archive/zip"
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"path"
	"slices"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
)

// format is the version of the layout, raised with whatever is added to manifest.json or seals.json: a reader knows every key, or says that it is
// too old.
const format = 1

// manifest lists what an archive holds.
type manifest struct {
	Archive       int         `json:"tacet_archive"`
	Company       string      `json:"company"`
	Job           string      `json:"job"`
	Name          string      `json:"name"`
	MadeAt        string      `json:"made_at"`
	Entries       []entryLine `json:"entries"` // in fold order
	MissingPhotos []string    `json:"missing_photos"`
	Files         []fileLine  `json:"files"`
}

type entryLine struct {
	N     int    `json:"n"`
	ID    string `json:"id"`
	Hash  string `json:"hash"`
	State string `json:"state"`
	Env   string `json:"envelope"`
	Body  string `json:"body"` // "" where it is held back or was erased
}

type fileLine struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// sealFile holds the signatures and the keys to check them with.
type sealFile struct {
	Seals     []replica.Seal    `json:"seals"`
	Devices   map[string]string `json:"devices"`
	ServerKey string            `json:"server_key"`
}

// writer writes files into the zip and notes them in the manifest.
type writer struct {
	zip  *zip.Writer
	made time.Time
	out  manifest
}

// headerOf is what the zip says of a file: one time for all files and no more flags than that, so that the same content gives the same bytes.
func headerOf(name string, method uint16, made time.Time) *zip.FileHeader {
	return &zip.FileHeader{Name: name, Method: method, Modified: made.UTC().Truncate(2 * time.Second)}
}

func (w *writer) add(name string, data []byte) error {
	// Stored as it is: packed, a file has bits that mean nothing, and a change of them would not be found. Photos, most of an archive, are packed already.
	f, err := w.zip.CreateHeader(headerOf(name, zip.Store, w.made))
	if err != nil {
		return fmt.Errorf("archive %s: %w", name, err)
	}
	if _, err := f.Write(data); err != nil {
		return fmt.Errorf("archive %s: %w", name, err)
	}
	sum := sha256.Sum256(data)
	w.out.Files = append(w.out.Files, fileLine{name, int64(len(data)), hex.EncodeToString(sum[:])})
	return nil
}

// Write writes the archive. The same content gives the same bytes.
func Write(ctx context.Context, to io.Writer, c Content) error {
	t := c.timeline()
	w := &writer{zip: zip.NewWriter(to), made: c.Made, out: manifest{Archive: format, Company: c.Company, Job: c.Job, Name: t.job.Name,
		MadeAt: c.Made.UTC().Format(time.RFC3339), MissingPhotos: []string{}, Files: []fileLine{}}}
	if err := w.add("READ-ME.txt", []byte(readMe(t.job.Name))); err != nil {
		return err
	}
	var err error
	if t.here, err = w.photos(ctx, c, t.whole); err != nil {
		return err
	}
	page, err := t.page()
	if err != nil {
		return err
	}
	table, err := t.table()
	if err != nil {
		return err
	}
	settled, err := t.job.Export()
	if err != nil {
		return fmt.Errorf("archive job %s: %w", c.Job, err)
	}
	seals, err := c.sealFile()
	if err != nil {
		return err
	}
	for _, f := range []struct {
		name string
		data []byte
	}{{"timeline.html", page}, {"timeline.csv", table}, {"job.json", settled}, {"seals.json", seals}} {
		if err := w.add(f.name, f.data); err != nil {
			return err
		}
	}
	if err := w.entries(t.whole, t.states); err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(c.Sheets)) {
		if err := w.add("sheets/"+path.Base(name), c.Sheets[name]); err != nil {
			return err
		}
	}
	return w.finish()
}

func (w *writer) entries(whole *jobs.Job, states map[jobs.Hash]replica.State) error {
	for i, r := range whole.Records {
		base := fmt.Sprintf("entries/%06d-%s", i+1, r.ID)
		line := entryLine{N: i + 1, ID: r.ID, Hash: r.Hash.String(), State: string(states[r.Hash]), Env: base + ".envelope.json"}
		if err := w.add(line.Env, r.Env); err != nil {
			return err
		}
		if r.Data != nil {
			line.Body = base + ".body.json"
			if err := w.add(line.Body, r.Data); err != nil {
				return err
			}
		}
		w.out.Entries = append(w.out.Entries, line)
	}
	return nil
}

func photoName(h jobs.Hash) string { return "photos/" + hex.EncodeToString(h[:]) + ".jpg" }

// photos writes every photo once and tells which are here.
func (w *writer) photos(ctx context.Context, c Content, whole *jobs.Job) (map[jobs.Hash]bool, error) {
	here := map[jobs.Hash]bool{}
	for _, r := range whole.Records {
		for _, h := range r.Blobs {
			if _, done := here[h]; done {
				continue
			}
			here[h] = false
			err := fmt.Errorf("photo %s: %w", h, jobs.ErrNotFound)
			var data []byte
			if c.Photo != nil {
				data, err = c.Photo(ctx, h)
			}
			// One that was damaged on the disk counts as missing too: a dispute must not wait for it, and verify names it.
			if e, _ := whole.PhotoErased(h); e != nil && err != nil {
				continue // the record itself says that it is gone
			}
			if errors.Is(err, jobs.ErrNotFound) || errors.Is(err, replica.ErrBroken) {
				w.out.MissingPhotos = append(w.out.MissingPhotos, hex.EncodeToString(h[:]))
				continue
			}
			if err != nil {
				return nil, fmt.Errorf("archive photo %s: %w", h, err)
			}
			if err := w.add(photoName(h), data); err != nil {
				return nil, err
			}
			here[h] = true
		}
	}
	return here, nil
}

func (w *writer) finish() error {
	data, err := json.MarshalIndent(w.out, "", " ")
	if err != nil {
		return fmt.Errorf("archive manifest: %w", err)
	}
	if err := w.add("manifest.json", append(data, '\n')); err != nil {
		return err
	}
	if err := w.zip.Close(); err != nil {
		return fmt.Errorf("close archive: %w", err)
	}
	return nil
}

func (c Content) sealFile() ([]byte, error) {
	f := sealFile{Seals: c.Seals, Devices: map[string]string{}, ServerKey: keyText(c.ServerKey)}
	if f.Seals == nil {
		f.Seals = []replica.Seal{}
	}
	for dev, key := range c.Keys {
		f.Devices[dev] = keyText(key)
	}
	data, err := json.MarshalIndent(f, "", " ")
	if err != nil {
		return nil, fmt.Errorf("archive seals: %w", err)
	}
	return append(data, '\n'), nil
}

func keyText(k ed25519.PublicKey) string { return base64.StdEncoding.EncodeToString(k) }

// ForPeople is what no check of an archive proves, in the words in which the programs say it: the entries hold no words whose keys can be
// thrown away, so the pages can't be made anew from them.
const ForPeople = "Not proved either: timeline.html, timeline.csv, job.json and what lies in sheets/. Whoever made this copy made them from " +
	"the entries, for people to read. Where it matters what they say, have the firm's server write them again."

func readMe(name string) string {
	return name + `

This file holds the whole record of a job, as it was written. Nothing but a browser and a spreadsheet is needed to read it:
open timeline.html, or timeline.csv for the same as a table. The photos lie in photos/, what was printed in sheets/.

Nothing in it was changed or left out for this copy: entries that were replaced, withdrawn, held back or refused are here
and are marked. Where a text or a photo is missing, the list says so.

How to check it. manifest.json names every file with its SHA-256. Each entry is an envelope and a body. The envelope holds
the SHA-256 of the body and the hash of the entry before it by the same device (SHA-256 of "tacet entry 1", a line feed and
the envelope), so that no entry can be changed, removed or moved without breaking the chain. seals.json holds the
signatures (Ed25519) of the devices over the ends of their chains and the receipts of the server, with the public keys.

` + replica.NotProved + ` ` + ForPeople + `
The keys in seals.json come with this copy: compare them with those that the firm's server gives out.
`
}
