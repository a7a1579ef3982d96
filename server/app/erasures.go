package app

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
)

// What was erased is kept in the ledger too, beside the database and in no backup: a database that was put back, by its own tools or ours,
// forgets it again when the server starts, whatever keys came with it. The file has hashes of entries and ids of people, and nobody's words.

// erasedLine is one line of the file: an entry or a person.
type erasedLine struct {
	Co     string `json:"co"`
	Entry  string `json:"entry,omitempty"` // hash
	Person string `json:"person,omitempty"`
}

func (f Folder) erasures() string {
	return filepath.Join(filepath.Dir(f.ledger().path), "erased.jsonl")
}

// readErasures reads what can be read; a line that a crash cut off is left out.
func readErasures(path string) (map[erasedLine]bool, error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return map[erasedLine]bool{}, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read the ledger of what was erased: %w", err)
	}
	defer f.Close()
	known := map[erasedLine]bool{}
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		var l erasedLine
		if json.Unmarshal(lines.Bytes(), &l) == nil && l.Co != "" {
			known[l] = true
		}
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("read the ledger of what was erased: %w", err)
	}
	return known, nil
}

// noteErasures writes down what the database says was erased and the ledger does not know yet. Several servers may write a line twice.
func (h *house) noteErasures(ctx context.Context) (err error) {
	path := h.folder.erasures()
	known, err := readErasures(path)
	if err != nil {
		return err
	}
	var fresh []erasedLine
	companies, err := h.accounts.Companies(ctx)
	if err != nil {
		return err
	}
	for _, c := range companies {
		list, err := h.erasedIn(ctx, c)
		if err != nil {
			return err
		}
		for _, l := range list {
			if !known[l] {
				fresh = append(fresh, l)
			}
		}
	}
	if len(fresh) == 0 {
		return nil
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return fmt.Errorf("note what was erased: %w", err)
	}
	text := []byte{'\n'} // ends what a crash may have cut off
	for _, l := range fresh {
		b, err := json.Marshal(l)
		if err != nil {
			return fmt.Errorf("note what was erased: %w", err)
		}
		text = append(append(text, b...), '\n')
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("note what was erased: %w", err)
	}
	_, err = f.Write(text)
	return errors.Join(err, f.Sync(), f.Close(), syncFolder(filepath.Dir(path)))
}

// erasedIn lists what the database of a company says was erased.
func (h *house) erasedIn(ctx context.Context, c accounts.Company) (list []erasedLine, err error) {
	hashes, err := h.store.Erased(ctx, c.ID)
	if err != nil {
		return nil, err
	}
	for _, x := range hashes {
		list = append(list, erasedLine{Co: c.ID, Entry: x.String()})
	}
	users, err := h.accounts.Users(ctx, c.ID)
	for _, u := range users {
		if u.Name == jobs.Erased {
			list = append(list, erasedLine{Co: c.ID, Person: u.Person})
		}
	}
	return list, err
}

// replayErasures erases again what a ledger says was erased and the database has. It tells how much that was.
func (h *house) replayErasures(ctx context.Context, path string) (news int, err error) {
	known, err := readErasures(path)
	if err != nil || len(known) == 0 {
		return 0, err
	}
	companies, err := h.accounts.Companies(ctx)
	if err != nil {
		return 0, err
	}
	for _, c := range companies {
		have, err := h.erasedIn(ctx, c)
		if err != nil {
			return news, err
		}
		for _, l := range have {
			delete(known, l)
		}
		var hashes []jobs.Hash
		for l := range known {
			switch x, err := jobs.ParseHash(l.Entry); {
			case l.Co != c.ID:
			case l.Person != "":
				if err := h.accounts.EraseAgain(ctx, c.ID, l.Person); err != nil {
					return news, err
				}
				news++
			case err == nil:
				hashes = append(hashes, x)
			}
		}
		if len(hashes) == 0 {
			continue
		}
		n, err := h.replica.EraseAgain(ctx, c.ID, hashes)
		news += n
		if err != nil {
			return news, fmt.Errorf("replay the ledger of what was erased: %w", err)
		}
	}
	return news, nil
}

// noteErasuresNowAndThen notes what was erased since, each hour and when the server stops. Where the database does not answer any more,
// that waits for the next start.
func (r *Running) noteErasuresNowAndThen(ctx context.Context, log *slog.Logger) {
	every := time.NewTicker(accounts.TidyEvery)
	defer every.Stop()
	note := func(ctx context.Context) {
		if err := r.house.noteErasures(ctx); err != nil && ctx.Err() == nil {
			log.Error("note what was erased", "error", err.Error())
		}
	}
	for {
		note(ctx)
		select {
		case <-ctx.Done():
			last, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopTime)
			defer cancel()
			note(last)
			return
		case <-every.C:
		}
	}
}
