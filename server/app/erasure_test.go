package app_test

import (
	"bytes"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/app"
)

// A backup of before an erasure holds the words sealed and no key; with the newest file of keys it is restored, proves whole, and
// the words stay erased. Without the file nothing that is sealed can be read, and taking it in later gives it back.
func TestErasureReachesOldBackups(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	d, job, e := complained(t, w)
	dir := t.TempDir()
	old, keys := filepath.Join(dir, "old.zip"), filepath.Join(dir, "people.keys")
	do(t, w.folder.Dir, "", "backup", "--with-keys", old).want(t, "backup", 0, "")
	before, err := os.ReadFile(keys)
	if err != nil || bytes.Count(before, []byte(`"entry"`)) != 2 || bytes.Count(before, []byte(`"login"`)) != 1 { // of the job and of the complaint; one person
		t.Fatalf("the file of keys: %q, %v", before, err)
	}
	if st, err := os.Stat(keys); err != nil || st.Mode().Perm() != 0o600 {
		t.Errorf("the file of keys is %v, %v", st.Mode(), err)
	}
	for name, b := range unzip(t, old) {
		if bytes.Contains(b, e.Key) || bytes.Contains(b, []byte("Lindqvist")) {
			t.Errorf("%s of the backup holds the key or the words", name)
		}
	}
	restored := func(args ...string) string {
		data := filepath.Join(t.TempDir(), "new")
		if r := do(t, data, "", append([]string{"restore", old}, args...)...); r.code != 0 || !strings.Contains(r.talk, "Nothing was changed") {
			t.Fatalf("restore: %+v", r)
		}
		return data
	}
	reads := func(data string) string {
		again := &world{t: t, log: &logText{}, folder: app.Folder{Dir: data}, co: w.co}
		again.Running = startOn(t, again.folder, again.log)
		return words(t, again, job)
	}
	if got := reads(restored()); got != lodger {
		t.Errorf("before the erasure, with its keys, the backup reads %q", got)
	}
	if _, err := w.Replica.Record(t.Context(), w.co.ID, d.author(), job, edges(`{"do":"erasure","of":["`+e.ID+`"],"reason":"asked"}`)); err != nil {
		t.Fatal(err)
	}
	if got := words(t, w, job); got != jobs.Erased {
		t.Errorf("the server reads %q", got)
	}
	do(t, w.folder.Dir, "", "backup", filepath.Join(dir, "new.zip")).want(t, "backup", 0, "")
	if got := reads(restored()); got != jobs.Erased {
		t.Errorf("the old backup with the newest keys reads %q", got)
	}
	lost := filepath.Join(t.TempDir(), "kept.keys")
	if err := os.Rename(keys, lost); err != nil {
		t.Fatal(err)
	}
	data := restored()
	if err := os.WriteFile(lost, before, 0o600); err != nil {
		t.Fatal(err)
	}
	do(t, data, "", "people-keys", lost).want(t, "take the keys in", 0, "")
	if got := reads(data); got != lodger {
		t.Errorf("with the keys taken in later it reads %q", got)
	}
	if err := os.WriteFile(lost, []byte("{}\nhello"), 0o600); err != nil {
		t.Fatal(err)
	}
	do(t, data, "", "people-keys", lost).want(t, "take in what is no file of keys", 2, "")
}

// Who people with accounts are stands in no backup, only in the newest file of keys, and so do the names of jobs. Who was erased since stays
// erased in what is restored, and may not come in; the others sign in as before. Without the file nobody is known by name.
func TestErasedPeopleStayErasedInWhatIsRestored(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	_, job, _ := complained(t, w)
	w.user(w.co, "m.reed", jobs.Owner)
	dir := t.TempDir()
	old, keys := filepath.Join(dir, "old.zip"), filepath.Join(dir, "people.keys")
	do(t, w.folder.Dir, "", "backup", "--with-keys", old).want(t, "backup", 0, "")
	for name, b := range unzip(t, old) {
		for _, secret := range []string{"o.ferry", "m.reed", "Canal Row"} {
			if bytes.Contains(b, []byte(secret)) {
				t.Errorf("%s of the backup holds %q", name, secret)
			}
		}
	}
	gone, err := w.Accounts.UserByLogin(t.Context(), "o.ferry")
	if err == nil {
		err = w.Accounts.EndUser(t.Context(), "o.ferry")
	}
	if err == nil {
		err = w.Accounts.ErasePerson(t.Context(), w.co.ID, gone.Person)
	}
	if err != nil {
		t.Fatal(err)
	}
	do(t, w.folder.Dir, "", "backup", filepath.Join(dir, "new.zip")).want(t, "backup", 0, "")
	if b, err := os.ReadFile(keys); err != nil || bytes.Contains(b, []byte("ferry")) || bytes.Count(b, []byte(`"erased":true`)) != 1 {
		t.Errorf("the newest file of keys: %s, %v", b, err)
	}
	knows := func(data string) (name, erased string) {
		t.Helper()
		again := &world{t: t, log: &logText{}, folder: app.Folder{Dir: data}, co: w.co}
		again.Running = startOn(t, again.folder, again.log)
		users, err := again.Accounts.Users(t.Context(), w.co.ID)
		if err != nil || len(users) != 2 {
			t.Fatalf("%+v, %v", users, err)
		}
		for _, u := range users {
			if u.Person == gone.Person {
				erased = u.Name + " " + u.Login
				if !u.Ended && strings.HasPrefix(erased, jobs.Erased) {
					t.Error("who was erased may come in again")
				}
			} else {
				name = u.Login
			}
		}
		j, err := again.Replica.Job(t.Context(), w.co.ID, job)
		if err != nil {
			t.Fatal(err)
		}
		return name + ", " + j.Name, erased
	}
	data := filepath.Join(t.TempDir(), "new")
	do(t, data, "", "restore", old).want(t, "restore", 0, "")
	if name, erased := knows(data); name != "m.reed, Canal Row (invented)" || erased != jobs.Erased+" "+gone.Person {
		t.Errorf("restored, it knows %q and %q", name, erased)
	}
	if err := os.Rename(keys, filepath.Join(dir, "kept.keys")); err != nil {
		t.Fatal(err)
	}
	data = filepath.Join(t.TempDir(), "bare")
	do(t, data, "", "restore", old).want(t, "restore without the file of keys", 0, "")
	if name, _ := knows(data); strings.Contains(name, "reed") || strings.Contains(name, "Canal") {
		t.Errorf("without the file of keys it knows %q", name)
	}
	do(t, data, "", "people-keys", filepath.Join(dir, "kept.keys")).want(t, "take the keys in", 0, "")
	if name, erased := knows(data); name != "m.reed, Canal Row (invented)" || erased != jobs.Erased+" "+gone.Person {
		t.Errorf("with the keys taken in later it knows %q and %q", name, erased)
	}
}

// A database that is put back as it was before an erasure, keys and all, as the tools of a database do it, forgets again what was erased when
// the server starts: the ledger beside it knows.
func TestErasureSurvivesADatabasePutBack(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d, job, e := complained(t, w)
		w.user(w.co, "m.reed", jobs.Owner)
		gone, err := w.Accounts.UserByLogin(t.Context(), "o.ferry")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Replica.Record(t.Context(), w.co.ID, d.author(), job, edges(`{"do":"erasure","of":["`+e.ID+`"],"reason":"asked"}`)); err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(w.Accounts.EndUser(t.Context(), "o.ferry"), w.Accounts.ErasePerson(t.Context(), w.co.ID, gone.Person)); err != nil {
			t.Fatal(err)
		}
		// While the server runs: it may never come to its end.
		path := filepath.Join(w.folder.Dir, "ledger", "erased.jsonl")
		b, err := os.ReadFile(path)
		if err != nil || bytes.Count(b, []byte(`"entry"`)) != 1 || bytes.Count(b, []byte(`"person"`)) != 1 || bytes.Contains(b, []byte("indqvist")) {
			t.Fatalf("the ledger: %s, %v", b, err)
		}
		if err := os.WriteFile(path, append(b, `{"co":"cut o`...), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := w.Stop(); err != nil {
			t.Fatal(err)
		}
		putBack(t, w.folder, w.co.ID, e, gone)
		again := &world{t: t, log: &logText{}, folder: w.folder, co: w.co}
		again.Running = startOn(t, again.folder, again.log)
		if got := words(t, again, job); got != jobs.Erased {
			t.Errorf("the complaint reads %q", got)
		}
		if u, err := again.Accounts.User(t.Context(), w.co.ID, gone.Person); err != nil || u.Name != jobs.Erased || !u.Ended {
			t.Errorf("who was erased is %+v, %v", u, err)
		}
		if !strings.Contains(again.log.String(), `"erased_again":2`) {
			t.Errorf("the log does not say so: %s", again.log)
		}
	})
}

// What can't be written into the ledger is not erased: a database that is put back would bring it back, and nobody would know.
func TestNothingIsErasedThatTheLedgerCannotKeep(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	_, job, e := complained(t, w)
	w.user(w.co, "m.reed", jobs.Owner)
	gone, err := w.Accounts.UserByLogin(t.Context(), "o.ferry")
	if err == nil {
		err = w.Accounts.EndUser(t.Context(), "o.ferry")
	}
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(w.folder.Dir, "ledger", "erased.jsonl")
	if err := errors.Join(os.RemoveAll(path), os.MkdirAll(path, 0o700)); err != nil { // a folder takes no line
		t.Fatal(err)
	}
	owner, err := w.Accounts.UserByLogin(t.Context(), "m.reed")
	if err != nil {
		t.Fatal(err)
	}
	erase := func() error {
		_, err := w.Replica.Record(t.Context(), w.co.ID, jobs.Author{Person: owner.Person, Role: owner.Role}, job, edges(`{"do":"erasure","of":["`+e.ID+`"],"reason":"asked"}`))
		return err
	}
	if err := erase(); err == nil || words(t, w, job) == jobs.Erased {
		t.Errorf("erased without a line in the ledger: %v", err)
	}
	if err := w.Accounts.ErasePerson(t.Context(), w.co.ID, gone.Person); err == nil {
		t.Error("a person erased without a line in the ledger")
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(erase(), w.Accounts.ErasePerson(t.Context(), w.co.ID, gone.Person)); err != nil || words(t, w, job) != jobs.Erased {
		t.Errorf("erased once the ledger takes lines again: %v", err)
	}
}

// putBack gives a database what it had before an erasure.
func putBack(t *testing.T, folder app.Folder, co string, e jobs.Entry, u accounts.User) {
	t.Helper()
	driver, dsn, mark := "sqlite", filepath.Join(folder.Dir, "tacet.db"), "?"
	if folder.Database != "" {
		driver, dsn, mark = "pgx", folder.Database, "$"
	}
	db, err := sql.Open(driver, dsn)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	n := 0
	set := func(q string, args ...any) {
		for i := 1; mark == "$" && i <= len(args); i++ {
			q = strings.Replace(q, "?", "$"+strconv.Itoa(i), 1)
		}
		tx, err := db.BeginTx(t.Context(), nil)
		if err == nil && mark == "$" {
			_, err = tx.Exec("SELECT set_config('tacet.co', '*', true)")
		}
		if err != nil {
			t.Fatal(err)
		}
		res, err := tx.Exec(q, args...)
		if err == nil {
			err = tx.Commit()
		}
		if err != nil {
			t.Fatal(err)
		}
		if rows, err := res.RowsAffected(); err == nil {
			n += int(rows)
		}
	}
	set("UPDATE entry_key SET key = ? WHERE co = ? AND h = ?", e.Key, co, e.Hash[:])
	set("UPDATE account_user SET name = ?, login = ? WHERE co = ? AND person = ?", u.Name, u.Login, co, u.Person)
	if n != 2 {
		t.Fatalf("%d rows were put back", n)
	}
}
