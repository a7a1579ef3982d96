// Package demo plays an invented firm through the real path: a server of its own on this machine, two devices enrolled
// with it, work recorded on them without a network, a supervisor who answers on the server, and the exchanges between.
// Nothing is painted: every number that is shown afterwards follows from entries that were recorded, sent and received
// like anybody's. Firm, people, house and figures are made up; any likeness is accidental.
//
// Map: demo.go begins, goes on or starts over; firm.go the firm and its devices; story.go plays the story of
// testdata/demo; days.go keeps its days in the past; running.go remembers the server that runs; picture.go draws the photos,
// each marked as drawn.
package demo

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"tacet/client/home"
	"tacet/jobs"
	"tacet/server/app"
	"tacet/sync/durable"
)

// Config is what the demonstration needs.
type Config struct {
	Dir   string            // a folder of its own
	Fresh bool              // start over
	Say   func(line string) // talk
}

// Firm is the demonstration as it stands, its server running.
type Firm struct {
	Server   *app.Running
	Tablet   *home.Home // the lead fitter's
	Phone    *home.Home // the fitter's
	Job      string     // id of the job that is shown
	Login    string     // of the supervisor, for the server's pages
	Password string

	dir   string
	say   func(string)
	notes notes
}

// notes is what the demonstration keeps about itself. The file is written when the story has been played to its end:
// what was cut off before starts over.
type notes struct {
	Company  string            `json:"company"`
	Password string            `json:"password"`
	People   map[string]string `json:"people"` // login -> id
	Jobs     map[string]string `json:"jobs"`   // name -> id
}

func notesPath(dir string) string { return filepath.Join(dir, "demo.json") }

// Open starts the firm's server and opens its devices. The first time, or afresh, it plays the story.
func Open(ctx context.Context, c Config) (*Firm, error) {
	f := &Firm{dir: c.Dir, say: c.Say}
	err := f.readNotes()
	played := err == nil
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	if c.Fresh || !played {
		if err := clear(c.Dir); err != nil {
			return nil, err
		}
		played, f.notes = false, notes{People: map[string]string{}, Jobs: map[string]string{}}
	}
	if err := f.start(ctx); err != nil {
		return nil, err
	}
	open := f.reopen
	if !played {
		open = f.found
	}
	if err := errors.Join(os.WriteFile(filepath.Join(c.Dir, runningFile), []byte(f.Server.URL), 0o600), open(ctx)); err != nil {
		return nil, errors.Join(err, f.Close())
	}
	f.Login, f.Password, f.Job = supervisor, f.notes.Password, f.notes.Jobs[shownJob]
	return f, nil
}

// clear removes an earlier demonstration, and nothing else: a folder that holds something of somebody's is refused.
func clear(dir string) error {
	entries, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("look into the demonstration's folder: %w", err)
	}
	ours := map[string]bool{"demo.json": true, "server": true, "tablet": true, "phone": true, "pictures": true, "site-sheets.pdf": true, runningFile: true}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), durable.Unfinished) {
			ours[e.Name()] = true // left by a print that was cut off
		}
		if !ours[e.Name()] {
			return &jobs.InputError{Field: "--home", Value: filepath.Join(dir, e.Name()), Hint: "that is not of the demonstration; move it away or give another folder"}
		}
	}
	for name := range ours {
		if err := os.RemoveAll(filepath.Join(dir, name)); err != nil {
			return fmt.Errorf("start over: %w", err)
		}
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("make the demonstration's folder: %w", err)
	}
	return nil
}

func (f *Firm) readNotes() error {
	data, err := os.ReadFile(notesPath(f.dir))
	if err != nil {
		return err
	}
	if err := json.Unmarshal(data, &f.notes); err != nil {
		return fmt.Errorf("read %s: %w", notesPath(f.dir), err)
	}
	return nil
}

func (f *Firm) writeNotes() error {
	data, err := json.MarshalIndent(f.notes, "", "  ")
	if err != nil {
		return fmt.Errorf("note the demonstration: %w", err)
	}
	if err := os.WriteFile(notesPath(f.dir), append(data, '\n'), 0o600); err != nil {
		return fmt.Errorf("note the demonstration: %w", err)
	}
	return nil
}

func (f *Firm) start(ctx context.Context) (err error) {
	f.Server, err = app.Start(ctx, app.Config{Folder: app.Folder{Dir: filepath.Join(f.dir, "server")}, Listen: "127.0.0.1:0"})
	if err != nil {
		return fmt.Errorf("start the firm's server: %w", err)
	}
	return nil
}

// found makes the firm and plays the story from its first line.
func (f *Firm) found(ctx context.Context) error {
	if err := f.register(ctx); err != nil {
		return err
	}
	if err := f.openDevices(ctx); err != nil {
		return err
	}
	for _, d := range []struct {
		home  *home.Home
		login string
		name  string
	}{{f.Tablet, lead, "Idris's tablet"}, {f.Phone, fitter, "Pavo's phone"}} {
		code, err := f.Server.Accounts.EnrolCode(ctx, d.login, codeLife)
		if err != nil {
			return err
		}
		if _, err := d.home.Join(ctx, f.Server.URL, code, d.name); err != nil {
			return fmt.Errorf("enrol %s: %w", d.name, err)
		}
	}
	if err := f.play(ctx); err != nil {
		return err
	}
	return f.writeNotes()
}

// reopen opens the devices of a story that was played before. The server may listen elsewhere than it did then; its key,
// which the devices know, is the same.
func (f *Firm) reopen(ctx context.Context) error {
	if err := f.openDevices(ctx); err != nil {
		return err
	}
	for _, h := range []*home.Home{f.Tablet, f.Phone} {
		if err := h.MoveServer(ctx, f.Server.URL); err != nil {
			return err
		}
	}
	return nil
}

func (f *Firm) openDevices(ctx context.Context) (err error) {
	if f.Tablet, err = home.Open(ctx, filepath.Join(f.dir, "tablet")); err != nil {
		return err
	}
	f.Phone, err = home.Open(ctx, filepath.Join(f.dir, "phone"))
	return err
}

// Sheets is where the site sheets of the job are.
func (f *Firm) Sheets() string { return filepath.Join(f.dir, "site-sheets.pdf") }

// JobOn is the job that is shown, as a device sees it.
func (f *Firm) JobOn(ctx context.Context, h *home.Home) (*jobs.Job, error) {
	return h.Replica.Job(ctx, h.Me.Company, f.Job)
}

// Close stops the server and closes the devices.
func (f *Firm) Close() error {
	var errs []error
	for _, h := range []*home.Home{f.Tablet, f.Phone} {
		if h != nil {
			errs = append(errs, h.Close())
		}
	}
	errs = append(errs, f.Server.Stop())
	if err := os.Remove(filepath.Join(f.dir, runningFile)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		errs = append(errs, err)
	}
	return errors.Join(errs...)
}
