package app_test

import (
	"archive/zip"
	"bytes"
	"database/sql"
	"encoding/json"
	"errors"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/app"
	"tacet/server/privacy"
)

const lodger = "Mrs Lindqvist, flat 3, hears every step"

// complained is a job with a complaint of somebody who has no account.
func complained(t *testing.T, w *world) (d *tablet, job string, e jobs.Entry) {
	t.Helper()
	d = w.enrol(w.co, "o.ferry", jobs.Office)
	r := d.record()
	job = d.importJob(r)
	es, err := r.Record(t.Context(), w.co.ID, d.author(), job, edges(`{"do":"complaint","words":"`+lodger+`","kind":"footsteps","received":"phone","from":"Mrs Lindqvist"}`))
	if err != nil {
		t.Fatal(err)
	}
	d.sync(r)
	return d, job, es[0]
}

func words(t *testing.T, w *world, job string) string {
	t.Helper()
	j, err := w.Replica.Job(t.Context(), w.co.ID, job)
	if err != nil {
		t.Fatal(err)
	}
	return j.Complaints()[0].Complaint.Words
}

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

// A neighbour who has no account asks what is held about her, gets it, and asks to have it erased. The office does it on the pages; who
// looked is on the owner's page; nobody from outside was shown her words.
func TestANeighbourAsks(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d, job, e := complained(t, w)
		w.user(w.co, "m.reed", jobs.Owner)
		owner, office := w.signIn("m.reed"), w.signIn("o.ferry")

		secret, err := w.Accounts.AddGuest(t.Context(), accounts.Who{Company: w.co.ID, Person: d.answer.Person}, job, "building control", time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		guest := &browser{w: w}
		guest.cookie, _, _ = strings.Cut(guest.post("/guest/"+secret, nil, nil).header.Get("Set-Cookie"), ";")
		for _, path := range []string{"/jobs/" + job, "/jobs/" + job + "/history"} {
			if res := guest.get(path); res.status != 200 || strings.Contains(string(res.body), "Lindqvist") {
				t.Errorf("a guest gets %s: %d, %.300s", path, res.status, res.body)
			}
		}
		if res := office.get("/jobs/" + job + "/history"); !strings.Contains(string(res.body), "Lindqvist") {
			t.Error("the office does not see the complaint")
		}

		if res := office.post("/privacy/search", url.Values{"words": {"Li"}}, nil); res.status != 422 {
			t.Errorf("two letters: %d", res.status)
		}
		if res := office.post("/privacy/search", url.Values{"words": {"lindqvist"}}, nil); res.status != 200 || !strings.Contains(string(res.body), "1 record held about") {
			t.Errorf("search: %d %.600s", res.status, res.body)
		}
		res := office.post("/privacy/export", url.Values{"words": {"lindqvist"}}, nil)
		if res.status != 200 || res.header.Get("Content-Type") != "application/zip" || res.header.Get("Cache-Control") != "no-store" {
			t.Fatalf("export: %d %v", res.status, res.header)
		}
		path := filepath.Join(t.TempDir(), "held.zip")
		if err := os.WriteFile(path, res.body, 0o600); err != nil {
			t.Fatal(err)
		}
		files := unzip(t, path)
		for _, name := range []string{"person.json", "records.csv", "read-me.html"} {
			if !bytes.Contains(files[name], []byte(lodger)) {
				t.Errorf("%s of the export lacks what she said: %.300s", name, files[name])
			}
		}
		var held struct {
			Records []struct {
				ID     string
				Names  bool
				Sealed bool
			}
		}
		if err := json.Unmarshal(files["person.json"], &held); err != nil || len(held.Records) != 1 || held.Records[0].ID != e.ID || !held.Records[0].Names || !held.Records[0].Sealed {
			t.Errorf("the export holds %+v, %v", held, err)
		}

		about := url.Values{"words": {"lindqvist"}}
		if res := office.post("/privacy/erase", about, nil); res.status != 200 || words(t, w, job) != lodger {
			t.Errorf("erasing without having said so twice: %d", res.status)
		}
		about.Set("own", "wrong slate gutter")
		if res := office.post("/privacy/erase", about, nil); res.status != 422 || words(t, w, job) != lodger {
			t.Errorf("erasing with a wrong password: %d", res.status)
		}
		about.Set("own", password)
		if res := office.post("/privacy/erase", about, nil); res.status != 200 || !strings.Contains(string(res.body), "1 record erased") {
			t.Errorf("erase: %d %.600s", res.status, res.body)
		}
		if got := words(t, w, job); got != jobs.Erased {
			t.Errorf("the server still reads %q", got)
		}
		if res := office.post("/privacy/search", url.Values{"words": {"lindqvist"}}, nil); strings.Contains(string(res.body), "held about") {
			t.Error("she is still found")
		}
		if _, err := w.Replica.VerifyLog(t.Context(), w.co.ID); err != nil {
			t.Error(err)
		}

		if res := office.get("/privacy/looks"); res.status != 403 {
			t.Errorf("the office reads who looked: %d", res.status)
		}
		page := string(owner.get("/privacy/looks").body)
		for _, want := range []string{"The guest building control", "A job, by a link for guests", "Took a copy of what is held about somebody", "Erased what named somebody", "The history of a job"} {
			if !strings.Contains(page, want) {
				t.Errorf("who looked does not say %q", want)
			}
		}
		if strings.Contains(page, "indqvist") || strings.Contains(w.log.String(), "indqvist") {
			t.Error("her name stands in the list of who looked, or in the log")
		}
	})
}

// Somebody who worked here leaves; who they were is erased when the time set for it is over, or when they ask. Their records stay.
func TestWhatIsOverItsTime(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		d, job, _ := complained(t, w)
		boss := w.user(w.co, "m.reed", jobs.Owner)
		now := time.Now()
		desk := &privacy.Desk{Record: w.Replica, Accounts: w.Accounts, Now: func() time.Time { return now }}
		over := func() map[string]int {
			t.Helper()
			list, err := desk.Due(t.Context(), w.co.ID)
			if err != nil {
				t.Fatal(err)
			}
			got := map[string]int{}
			for _, due := range list {
				if due.Count > 0 {
					got[due.Code] = due.Count
				}
			}
			return got
		}
		author := jobs.Author{Person: boss.Person, Role: jobs.Owner}
		record := func(edge string) jobs.Entry {
			t.Helper()
			es, err := w.Replica.Record(t.Context(), w.co.ID, author, job, edges(edge))
			if err != nil {
				t.Fatal(err)
			}
			return es[0]
		}
		record(`{"do":"note","text":"the key hangs behind the meter"}`)
		if err := w.Accounts.EndUser(t.Context(), "o.ferry"); err != nil {
			t.Fatal(err)
		}
		if err := w.Accounts.Note(t.Context(), w.co.ID, boss.Person, "a test", ""); err != nil {
			t.Fatal(err)
		}
		if got := over(); len(got) != 0 {
			t.Errorf("on the same day %v is over its time", got)
		}
		now = now.AddDate(0, 0, 366)
		if got := over(); got["accounts"] != 1 || got["looks"] != 1 || len(got) != 2 {
			t.Errorf("after a year %v is over its time", got)
		}
		now = now.AddDate(6, 0, 0)
		if got := over(); got["complaints"] != 0 {
			t.Error("an open complaint is over its time")
		}
		j, err := w.Replica.Job(t.Context(), w.co.ID, job)
		if err != nil {
			t.Fatal(err)
		}
		record(`{"do":"outcome","over":"` + j.Complaints()[0].Record.ID + `","outcome":"query_explained","cause":"expectation","confidence":"reasoned","found":"she had heard the lift"}`)
		if got := over(); got["complaints"] != 2 || got["notes"] != 0 {
			t.Errorf("once it is closed %v is over its time", got)
		}
		if err := desk.Set(t.Context(), w.co.ID, boss.Person, map[string]privacy.Setting{"notes": {Days: 365}}); err != nil {
			t.Fatal(err)
		}
		for _, bad := range []map[string]privacy.Setting{{"notes": {}}, {"none": {Days: 9}}, {"notes": {Days: 1 << 30}}, {"logs": {Days: 9, Itself: true}}} {
			if err := desk.Set(t.Context(), w.co.ID, boss.Person, bad); err == nil {
				t.Errorf("%v is taken", bad)
			}
		}
		if got := over(); got["notes"] != 1 {
			t.Errorf("with another time for notes %v is over it", got)
		}
		if _, err := desk.Apply(t.Context(), w.co.ID, author); err != nil {
			t.Fatal(err)
		}
		if got := over(); len(got) != 0 {
			t.Errorf("after all that %v is left", got)
		}
		if got := words(t, w, job); got != jobs.Erased {
			t.Errorf("the complaint still reads %q", got)
		}
		gone, err := w.Accounts.User(t.Context(), w.co.ID, d.answer.Person)
		if err != nil || gone.Name != jobs.Erased || gone.Login == "o.ferry" {
			t.Errorf("who left is still %+v, %v", gone, err)
		}
		if _, err := w.Accounts.UserByLogin(t.Context(), "o.ferry"); err == nil {
			t.Error("the login is still known")
		}
		if err := w.Accounts.ErasePerson(t.Context(), w.co.ID, boss.Person); err == nil {
			t.Error("somebody who works here is erased")
		}
		people, err := w.Accounts.People(t.Context(), w.co.ID)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range people {
			if p.ID == d.answer.Person && p.Name != jobs.Erased {
				t.Errorf("devices are still told %q", p.Name)
			}
		}
	})
}

func unzip(t *testing.T, path string) map[string][]byte {
	t.Helper()
	z, err := zip.OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	files := map[string][]byte{}
	for _, f := range z.File {
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if files[f.Name], err = io.ReadAll(in); err != nil {
			t.Fatal(err)
		}
	}
	return files
}
