package app

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"

	"tacet/sync/replica"
)

// ledgerFile keeps what was said about access beside the database and in no backup: a database that was put back does not take it back
// too. Each line is signed by itself; one that was cut off by a crash is left out.
type ledgerFile struct {
	path string
	mu   sync.Mutex
}

// Append writes a line and syncs it.
func (l *ledgerFile) Append(a replica.Access) (err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	line, err := json.Marshal(a)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(l.path), 0o700); err != nil {
		return err
	}
	f, err := os.OpenFile(l.path, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	// the first line break ends what a crash may have cut off
	_, err = f.Write(append(append([]byte{'\n'}, line...), '\n'))
	return errors.Join(err, f.Sync(), f.Close(), syncFolder(filepath.Dir(l.path)))
}

// lines reads all that can be read, by company.
func (l *ledgerFile) lines() (map[string][]replica.Access, error) {
	f, err := os.Open(l.path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read the ledger of access: %w", err)
	}
	defer f.Close()
	said := map[string][]replica.Access{}
	in := bufio.NewReader(f)
	for {
		line, err := in.ReadBytes('\n')
		var a replica.Access
		if json.Unmarshal(line, &a) == nil && a.Co != "" {
			said[a.Co] = append(said[a.Co], a)
		}
		if errors.Is(err, io.EOF) {
			return said, nil
		}
		if err != nil {
			return nil, fmt.Errorf("read the ledger of access: %w", err)
		}
	}
}

// replay does again what a ledger says and the database may not know any more. A line that is not signed by this server counts for
// nothing. It tells how many were news to the database.
func (h *house) replay(ctx context.Context, l *ledgerFile) (news int, err error) {
	said, err := l.lines()
	if err != nil || len(said) == 0 {
		return 0, err
	}
	companies, err := h.accounts.Companies(ctx)
	if err != nil {
		return 0, err
	}
	for _, c := range companies {
		var ours []replica.Access
		for _, a := range said[c.ID] {
			if a.Verify(h.accounts.Keys().RecordPublic()) {
				ours = append(ours, a)
			}
		}
		for len(ours) > 0 {
			n := min(len(ours), replica.MaxAccess)
			fresh, err := h.replica.Heed(ctx, c.ID, ours[:n])
			if err == nil {
				err = h.accounts.Follow(ctx, c.ID, fresh)
			}
			if err != nil {
				return news, fmt.Errorf("replay the ledger of access: %w", err)
			}
			news += len(fresh)
			ours = ours[n:]
		}
	}
	return news, nil
}

func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	err = d.Sync()
	if errors.Is(err, errors.ErrUnsupported) {
		err = nil
	}
	return errors.Join(err, d.Close())
}
