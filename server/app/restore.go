package app

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/google/uuid"

	"tacet/acoustics"
	"tacet/server/ops"
)

type restoreCmd struct {
	File       string `arg:"" help:"Zip file that server backup made."`
	PeopleKeys string `name:"people-keys" placeholder:"FILE" help:"Newest file of the keys of what people said; people.keys beside the backup if left out."`
}

// Run restores a backup into a folder without a database. All is unpacked and verified beside before anything is put in place. The server
// takes a new id: the one that was lost may have recorded more under the old one than the backup knows. Devices find by themselves that
// the server went back, and send again what it lost.
func (c *restoreCmd) Run(r *run) (err error) {
	f := r.folder
	switch {
	case f.Database != "":
		return &acoustics.InputError{Field: "restore", Value: "for SQLite", Hint: "restore PostgreSQL with its own tools, then delete keys/server-id: the server takes a new id when it starts"}
	case exists(f.sqlite()):
		return &acoustics.InputError{Field: "--data", Value: f.Dir, Hint: "a database lies there; stop its server and move it away first"}
	}
	// Looked at before anything is done: what is put in place must not stop half-way.
	if list, err := os.ReadDir(f.photos()); err == nil && len(list) > 0 {
		return &acoustics.InputError{Field: "--data", Value: f.Dir, Hint: "photos lie there; move them away first"}
	}
	if err := os.MkdirAll(f.Dir, 0o700); err != nil {
		return fmt.Errorf("make the data folder: %w", err)
	}
	work, err := os.MkdirTemp(f.Dir, ".restore-*")
	if err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	m, err := ops.Unpack(r.ctx, c.File, work)
	if err != nil {
		return err
	}
	fresh := Folder{Dir: work}
	kept := exists(filepath.Join(f.keys(), "record.pem"))
	beside := serverKeys(c.File)
	brings := m.Keys || !kept && exists(beside)
	switch {
	case brings && exists(f.keys()):
		return &acoustics.InputError{Field: "--data", Value: f.Dir, Hint: "it holds keys, and so does the backup; move those in the folder away first"}
	case m.Keys:
	case kept:
		if err := os.CopyFS(fresh.keys(), os.DirFS(f.keys())); err != nil {
			return fmt.Errorf("restore: %w", err)
		}
		if err := private(fresh.keys()); err != nil {
			return err
		}
	case brings:
		if err := ops.ReadServerKeys(beside, fresh.keys()); err != nil {
			return err
		}
	default:
		// Devices pinned the key of the record: without it no server is the one that they joined.
		return &acoustics.InputError{Field: "file", Value: c.File, Hint: "it was made without the server's keys; put " + ops.ServerKeys + " beside it, or the folder keys into " + f.Dir}
	}
	if err := newServerID(fresh.keys()); err != nil {
		return err
	}
	h, err := fresh.open(r.ctx)
	if err != nil {
		return err
	}
	words, taken, err := c.words(r.ctx, h)
	if err != nil {
		return errors.Join(err, h.close())
	}
	says, err := h.verify(r.ctx)
	if err == nil {
		err = h.beginEpochs(r.ctx, m.Created)
	}
	news := 0
	if err == nil {
		news, err = h.replay(r.ctx, f.ledger())
	}
	if err == nil {
		err = h.eraseAgain(r.ctx, taken)
	}
	if err == nil {
		_, err = h.replayErasures(r.ctx, f.erasures())
	}
	if err == nil {
		err = h.dropErased(r.ctx)
	}
	if err := errors.Join(err, h.accounts.Reconcile(r.ctx), h.close()); err != nil {
		return fmt.Errorf("the backup does not verify, nothing was put in place: %w", err)
	}
	if err := f.put(fresh, brings); err != nil {
		return err
	}
	_, err = fmt.Fprintf(r.talk, "Restored what was backed up on %s. %s\nDevices send again what came after it. %s\n%s\n",
		m.Created.Format(time.RFC3339), says, ledgerSays(f, news), words)
	return err
}

// words gives back the keys of what people said and who people are, as the newest file has it: what was erased since the backup stays erased.
func (c *restoreCmd) words(ctx context.Context, h *house) (string, ops.Taken, error) {
	file := peopleKeys(c.PeopleKeys, c.File)
	if c.PeopleKeys == "" && !exists(file) {
		return "There is no file of keys at " + file + ": what people said, the names of jobs, and names and logins stay unreadable until server people-keys takes one in.", ops.Taken{}, nil
	}
	t, err := h.takePeopleKeys(ctx, file)
	return fmt.Sprintf("Keys of people's words: %d. Erased again: %d.", t.Keys, len(t.Erased)), t, err
}

// ledgerSays tells whom the backup would have let in again.
func ledgerSays(f Folder, news int) string {
	if exists(f.ledger().path) {
		return fmt.Sprintf("The ledger of access was here: %d of its statements were newer than the backup, and hold.", news)
	}
	return "The ledger of access is not here: devices and people whose access ended after the backup have it again until the first device that knows better comes back. Look at server device list and server access list before you serve."
}

// beginEpochs notes in every company's log that it goes on from a backup.
func (h *house) beginEpochs(ctx context.Context, made time.Time) error {
	companies, err := h.store.Companies(ctx)
	if err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	for _, co := range companies {
		if err := h.replica.NewEpoch(ctx, co, "restored from a backup of "+made.Format(time.RFC3339)); err != nil {
			return fmt.Errorf("restore company %s: %w", co, err)
		}
	}
	return nil
}

// put moves what was verified into place, the database last: while it is missing there is no server's data here.
func (f Folder) put(fresh Folder, keys bool) error {
	if keys {
		if err := os.Rename(fresh.keys(), f.keys()); err != nil {
			return fmt.Errorf("restore: %w", err)
		}
	} else if err := os.Rename(filepath.Join(fresh.keys(), "server-id"), filepath.Join(f.keys(), "server-id")); err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	if exists(fresh.photos()) {
		if err := os.Rename(fresh.photos(), f.photos()); err != nil {
			return fmt.Errorf("restore: %w; the photos folder must be empty or not be there", err)
		}
	}
	if err := os.Rename(fresh.sqlite(), f.sqlite()); err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	return nil
}

func newServerID(keys string) error {
	id, err := uuid.NewV7()
	if err != nil {
		return fmt.Errorf("draw a server id: %w", err)
	}
	if err := os.WriteFile(filepath.Join(keys, "server-id"), []byte(id.String()+"\n"), 0o600); err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	return nil
}

// private makes the files of a folder readable for their owner alone.
func private(dir string) error {
	list, err := os.ReadDir(dir)
	if err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	for _, e := range list {
		if err := os.Chmod(filepath.Join(dir, e.Name()), 0o600); err != nil {
			return fmt.Errorf("restore: %w", err)
		}
	}
	return nil
}
