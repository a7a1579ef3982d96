package ops

import (
	"bufio"
	"context"
	"database/sql"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"tacet/acoustics"
)

// The words of people are sealed in the record, and their keys stay out of every backup. They go into one file of their own,
// which each backup writes anew: of it only the newest is kept, so a key that was thrown away is nowhere, and what it
// opened can be read in no old backup. The file also says which keys were thrown away.

// PeopleKeys is the name of that file, in the folder of the backup.
const PeopleKeys = "people.keys"

// personKey is a line of the file. Without a key it says that the key was thrown away.
type personKey struct {
	Co    string `json:"co"`
	Entry []byte `json:"entry"` // hash
	Key   []byte `json:"key,omitempty"`
}

// WritePeopleKeys writes the keys of a database to path, in place of what was there.
func WritePeopleKeys(ctx context.Context, db *sql.DB, path string) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), ".people-keys-*") // for its owner alone
	if err != nil {
		return fmt.Errorf("write the keys of people's words: %w", err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(fmt.Errorf("write the keys of people's words: %w", err), os.Remove(f.Name()))
		}
	}()
	w := bufio.NewWriter(f)
	err = errors.Join(eachKey(ctx, db, func(k personKey) error { return json.NewEncoder(w).Encode(k) }), w.Flush(), f.Sync(), f.Close())
	if err != nil {
		return err
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	return syncDir(filepath.Dir(path))
}

func eachKey(ctx context.Context, db *sql.DB, f func(personKey) error) error {
	rows, err := db.QueryContext(ctx, "SELECT co, h, key FROM entry_key ORDER BY co, h")
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var k personKey
		if err := rows.Scan(&k.Co, &k.Entry, &k.Key); err != nil {
			return err
		}
		if err := f(k); err != nil {
			return err
		}
	}
	return rows.Err()
}

// ReadPeopleKeys takes the keys of a file into a database. A key that either of them says was thrown away stays so. It tells
// how many keys are there then.
func ReadPeopleKeys(ctx context.Context, db *sql.DB, path string) (n int, err error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, &acoustics.InputError{Field: "people keys", Value: path, Hint: "there is no such file"}
	}
	if err != nil {
		return 0, fmt.Errorf("read the keys of people's words: %w", err)
	}
	defer f.Close()
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return 0, fmt.Errorf("read the keys of people's words: %w", err)
	}
	defer func() { err = errors.Join(err, ignoreDone(tx.Rollback())) }()
	lines := json.NewDecoder(bufio.NewReader(f))
	for {
		var k personKey
		if err := lines.Decode(&k); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return 0, &acoustics.InputError{Field: "people keys", Value: path, Hint: "it is no file of keys: " + err.Error()}
		}
		if len(k.Entry) != 32 || len(k.Key) != 0 && len(k.Key) != 32 || len(k.Co) != 36 {
			return 0, &acoustics.InputError{Field: "people keys", Value: base64.RawURLEncoding.EncodeToString(k.Entry), Hint: "the line is no key"}
		}
		set := "INSERT INTO entry_key (co, h, key) VALUES (?, ?, ?) ON CONFLICT DO NOTHING"
		key := any(k.Key)
		if len(k.Key) == 0 {
			set, key = "INSERT INTO entry_key (co, h, key) VALUES (?, ?, ?) ON CONFLICT DO UPDATE SET key = NULL", nil
		}
		if _, err := tx.ExecContext(ctx, set, k.Co, k.Entry, key); err != nil {
			return 0, fmt.Errorf("read the keys of people's words: %w", err)
		}
	}
	if err := tx.QueryRowContext(ctx, "SELECT COUNT(*) FROM entry_key WHERE key IS NOT NULL").Scan(&n); err != nil {
		return 0, fmt.Errorf("read the keys of people's words: %w", err)
	}
	return n, tx.Commit()
}

func ignoreDone(err error) error {
	if errors.Is(err, sql.ErrTxDone) {
		return nil
	}
	return err
}

// dropPeopleKeys takes the keys out of a copy of a database. What says that some were thrown away stays.
func dropPeopleKeys(ctx context.Context, path string) (err error) {
	db, err := sql.Open("sqlite", path+"?_pragma=secure_delete(1)&_pragma=journal_mode(DELETE)")
	if err != nil {
		return fmt.Errorf("take the keys out of the copy: %w", err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	for _, q := range []string{"DELETE FROM entry_key WHERE key IS NOT NULL", "VACUUM"} {
		if _, err := db.ExecContext(ctx, q); err != nil {
			return fmt.Errorf("take the keys out of the copy: %w", err)
		}
	}
	return nil
}
