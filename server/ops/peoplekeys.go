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

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/sync/durable"
)

// The words of people are sealed in the record, and their keys stay out of every backup. They go into one file of their own,
// which each backup writes anew: of it only the newest is kept, so a key that was thrown away is nowhere, and what it
// opened can be read in no old backup. The file also says which keys were thrown away. It is the same with who the people with accounts
// are: name, login and mail address stand in that file and in no backup, and it says who was erased.

// PeopleKeys is the name of that file, in the folder of the backup.
const PeopleKeys = "people.keys"

// keyLine is a line of the file: the key of an entry, nil where it was thrown away; or who somebody with an account is.
type keyLine struct {
	Co    string `json:"co"`
	Entry []byte `json:"entry,omitempty"` // hash
	Key   []byte `json:"key,omitempty"`

	Person string `json:"person,omitempty"`
	Name   string `json:"name,omitempty"`
	Login  string `json:"login,omitempty"`
	Mail   string `json:"mail,omitempty"`
	Erased bool   `json:"erased,omitempty"`
}

// PersonID names somebody with an account.
type PersonID struct{ Company, Person string }

// WritePeopleKeys writes the keys of a database to path, in place of what was there.
func WritePeopleKeys(ctx context.Context, db *sql.DB, path string) error {
	err := durable.File(path, durable.Secret, func(w io.Writer) error {
		lines := json.NewEncoder(w)
		write := func(k keyLine) error { return lines.Encode(k) }
		return errors.Join(eachKey(ctx, db, write), eachKnown(ctx, db, write))
	})
	if err != nil {
		return fmt.Errorf("write the keys of people's words: %w", err)
	}
	return nil
}

func eachKey(ctx context.Context, db *sql.DB, f func(keyLine) error) error {
	rows, err := db.QueryContext(ctx, "SELECT co, h, key FROM entry_key ORDER BY co, h")
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var k keyLine
		if err := rows.Scan(&k.Co, &k.Entry, &k.Key); err != nil {
			return err
		}
		if err := f(k); err != nil {
			return err
		}
	}
	return rows.Err()
}

func eachKnown(ctx context.Context, db *sql.DB, f func(keyLine) error) error {
	rows, err := db.QueryContext(ctx, "SELECT u.co, u.person, u.name, u.login, COALESCE(w.mail, '') FROM account_user u LEFT JOIN account_notice_wish w ON w.co = u.co AND w.person = u.person ORDER BY u.co, u.person")
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var k keyLine
		if err := rows.Scan(&k.Co, &k.Person, &k.Name, &k.Login, &k.Mail); err != nil {
			return err
		}
		if k.Name == jobs.Erased {
			k = keyLine{Co: k.Co, Person: k.Person, Erased: true}
		}
		if err := f(k); err != nil {
			return err
		}
	}
	return rows.Err()
}

// Taken is what a file of keys brought.
type Taken struct {
	Keys   int        // that are there now
	Erased []PersonID // who was erased, and may be known again in what was restored
}

// ReadPeopleKeys takes the keys of a file into a database, and who is who where that is left out there. A key that either of them says
// was thrown away stays so.
func ReadPeopleKeys(ctx context.Context, db *sql.DB, path string) (t Taken, err error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return t, &acoustics.InputError{Field: "people keys", Value: path, Hint: "there is no such file"}
	}
	if err != nil {
		return t, fmt.Errorf("read the keys of people's words: %w", err)
	}
	defer f.Close()
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return t, fmt.Errorf("read the keys of people's words: %w", err)
	}
	defer func() { err = errors.Join(err, ignoreDone(tx.Rollback())) }()
	lines := json.NewDecoder(bufio.NewReader(f))
	for {
		var line keyLine
		if err := lines.Decode(&line); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return t, &acoustics.InputError{Field: "people keys", Value: path, Hint: "it is no file of keys: " + err.Error()}
		}
		switch {
		case line.Person == "":
			err = line.putKey(ctx, tx)
		case line.Erased:
			t.Erased = append(t.Erased, PersonID{line.Co, line.Person})
		default:
			err = line.putPerson(ctx, tx)
		}
		if err != nil {
			return t, err
		}
	}
	if err := tx.QueryRowContext(ctx, "SELECT COUNT(*) FROM entry_key WHERE key IS NOT NULL").Scan(&t.Keys); err != nil {
		return t, fmt.Errorf("read the keys of people's words: %w", err)
	}
	return t, tx.Commit()
}

func (k keyLine) putKey(ctx context.Context, tx *sql.Tx) error {
	if len(k.Entry) != 32 || len(k.Key) != 0 && len(k.Key) != 32 || len(k.Co) != 36 {
		return &acoustics.InputError{Field: "people keys", Value: base64.RawURLEncoding.EncodeToString(k.Entry), Hint: "the line is no key"}
	}
	set := "INSERT INTO entry_key (co, h, key) VALUES (?, ?, ?) ON CONFLICT DO NOTHING"
	key := any(k.Key)
	if len(k.Key) == 0 {
		set, key = "INSERT INTO entry_key (co, h, key) VALUES (?, ?, ?) ON CONFLICT DO UPDATE SET key = NULL", nil
	}
	if _, err := tx.ExecContext(ctx, set, k.Co, k.Entry, key); err != nil {
		return fmt.Errorf("read the keys of people's words: %w", err)
	}
	return nil
}

// putPerson says who somebody is, where a backup left it out.
func (k keyLine) putPerson(ctx context.Context, tx *sql.Tx) error {
	for _, q := range []struct {
		set  string
		args []any
	}{
		{"UPDATE account_login SET login = ? WHERE co = ? AND person = ? AND login = person", []any{k.Login, k.Co, k.Person}},
		{"UPDATE account_user SET name = ?, login = ? WHERE co = ? AND person = ? AND name = ''", []any{k.Name, k.Login, k.Co, k.Person}},
		{"UPDATE account_notice_wish SET mail = ? WHERE co = ? AND person = ? AND mail = ''", []any{k.Mail, k.Co, k.Person}},
	} {
		if _, err := tx.ExecContext(ctx, q.set, q.args...); err != nil {
			return fmt.Errorf("say who somebody is: %w", err)
		}
	}
	return nil
}

func ignoreDone(err error) error {
	if errors.Is(err, sql.ErrTxDone) {
		return nil
	}
	return err
}

// dropPeopleKeys takes the keys out of a copy of a database, who the people with accounts are, and what was read with the keys: the list of
// jobs, which makes itself anew. What says that some keys were thrown away stays.
func dropPeopleKeys(ctx context.Context, path string) (err error) {
	db, err := sql.Open("sqlite", path+"?_pragma=secure_delete(1)&_pragma=journal_mode(DELETE)")
	if err != nil {
		return fmt.Errorf("take the keys out of the copy: %w", err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	for _, q := range []string{"DELETE FROM entry_key WHERE key IS NOT NULL", "DELETE FROM view_job",
		"UPDATE account_login SET login = person", "UPDATE account_user SET name = '', login = person", "UPDATE account_notice_wish SET mail = ''", "UPDATE person SET name = ''",
		"DELETE FROM account_notice_out", "VACUUM"} {
		if _, err := db.ExecContext(ctx, q); err != nil {
			return fmt.Errorf("take the keys out of the copy: %w", err)
		}
	}
	return nil
}
