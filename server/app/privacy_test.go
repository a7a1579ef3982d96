package app_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
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
