package app_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/app"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// Whom the server shut out after the backup was made stays shut out when it is put back: the ledger beside the database says so, whatever
// was cut off of its last line, and nobody else's lines count.
func TestLedgerOutlivesTheDatabase(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	lost, kept := w.enrol(w.co, "m.reed", jobs.Site), w.enrol(w.co, "a.stone", jobs.Site)
	gone := w.enrol(w.co, "j.gone", jobs.Site)
	file := filepath.Join(t.TempDir(), "backup.zip")
	do(t, w.folder.Dir, "", "backup", "--with-keys", file).want(t, "backup", 0, "")
	do(t, w.folder.Dir, "", "revoke", lost.id).want(t, "revoke", 0, "")
	do(t, w.folder.Dir, "", "user", "end", "j.gone").want(t, "end", 0, "")
	path := filepath.Join(w.folder.Dir, "ledger", "access.jsonl")
	ledger, err := os.ReadFile(path)
	if err != nil || bytes.Count(ledger, []byte(`"sig"`)) != 2 {
		t.Fatalf("%s, %v", ledger, err)
	}
	forged := strings.Replace(strings.SplitN(string(ledger), "\n\n", 2)[0], lost.id, kept.id, 1)
	data := filepath.Join(t.TempDir(), "new")
	if err := os.MkdirAll(filepath.Join(data, "ledger"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(data, "ledger", "access.jsonl"), append(append(ledger, forged...), "\n{\"co\":\"cut o"...), 0o600); err != nil {
		t.Fatal(err)
	}
	if r := do(t, data, "", "restore", file); r.code != 0 || !strings.Contains(r.talk, "2 of its statements were newer") {
		t.Fatalf("restore: %+v", r)
	}
	again := &world{t: t, log: &logText{}, folder: app.Folder{Dir: data}, co: w.co}
	again.Running = startOn(t, again.folder, again.log)
	for _, d := range []*tablet{lost, kept, gone} {
		d.moveTo(again)
		_, err := d.http.Refresh(t.Context(), wire.RefreshRequest{RefreshToken: d.answer.RefreshToken, Device: d.id, Key: d.key})
		if d == kept && err != nil || d == lost && !errors.Is(err, replica.ErrRevoked) || d == gone && !errors.Is(err, replica.ErrSignIn) {
			t.Errorf("device of %s: %v", d.answer.Login, err)
		}
	}
	if r := do(t, data, "", "device", "list"); !strings.Contains(r.out, lost.id+"  revoked") || !strings.Contains(r.out, kept.id+"  active") {
		t.Errorf("%+v", r)
	}
}

// What a device was not given it does not get, by no route; what it is given by command comes.
func TestAccessByCommand(t *testing.T) {
	each(t, func(t *testing.T, w *world) {
		a, b := w.enrol(w.co, "site.one", jobs.Site), w.enrol(w.co, "site.two", jobs.Site)
		job, _, sha := jobToTry(t, a)
		access := func(args ...string) result {
			return doIn(t, []string{"TACET_DATA=" + w.folder.Dir, "TACET_DATABASE=" + w.folder.Database}, "", append([]string{"access"}, args...)...)
		}
		cmd := func(args ...string) { access(args...).want(t, strings.Join(args, " "), 0, "") }
		paths := []string{"/v1/jobs/" + job + "/photos/" + sha, "/v1/jobs/" + job + "/history?after=0&upto=99", "/v1/jobs/" + job + "/take-along"}
		desk := w.signIn("site.two")
		sees := func(want bool) {
			t.Helper()
			if r := desk.get("/jobs/" + job); (r.status == 200) != want || !want && r.status != 404 {
				t.Errorf("its page: %d", r.status)
			}
			if r := desk.get("/"); bytes.Contains(r.body, []byte(job)) != want || r.status != 200 {
				t.Errorf("the list of jobs: %d, want it named: %t", r.status, want)
			}
			for _, path := range paths {
				if r := w.call(request{method: "GET", path: path, token: b.answer.AccessToken}); (r.status == 200) != want || !want && r.status != 404 {
					t.Errorf("%s: %d", path, r.status)
				}
			}
			for _, path := range []string{"/v1/take-along", "/v1/access", "/v1/pull"} {
				r := w.call(request{method: "GET", path: path, token: b.answer.AccessToken})
				if got := bytes.Contains(r.body, []byte(job)); got != want && path != "/v1/access" || r.status != 200 {
					t.Errorf("%s: %d, names the job: %t", path, r.status, got)
				}
			}
		}
		sees(true)
		cmd("narrow", "site.two")
		sees(false)
		cmd("grant", "site.two", job)
		sees(true)
		cmd("ungrant", "site.two", job)
		sees(false)
		cmd("widen", "site.two")
		sees(false) // it was taken away by itself
		if r := access("list"); !strings.Contains(r.out, "does not see") || !strings.Contains(r.out, "sees all jobs") {
			t.Errorf("%+v", r)
		}
		w.user(w.co, "an.owner", jobs.Owner)
		if r := access("narrow", "an.owner"); r.code != 2 {
			t.Errorf("an owner: %+v", r)
		}
	})
}

// Leaving records of a revoked device needs no sign-in, so it is counted, by the device and by the address; who is not known leaves nothing.
func TestAsideIsCounted(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	d := w.enrol(w.co, "m.reed", jobs.Site)
	r := d.record()
	d.importJob(r)
	if err := w.Accounts.Revoke(t.Context(), d.id); err != nil {
		t.Fatal(err)
	}
	kept, err := r.SendAside(t.Context(), d.http)
	if err != nil || kept == 0 {
		t.Fatalf("%d kept, %v", kept, err)
	}
	for range 40 {
		err = w.Accounts.MayLeaveAside(t.Context(), "", d.id)
	}
	var slow *replica.Refusal
	if !errors.Is(err, replica.ErrSlowDown) || !errors.As(err, &slow) || slow.RetryAfter <= 0 {
		t.Errorf("the 41st time: %v", err)
	}
	stranger := w.enrol(w.co, "a.stone", jobs.Site)
	if _, err := stranger.record().SendAside(t.Context(), stranger.http); err != nil {
		t.Errorf("nothing to leave: %v", err)
	}
	s := stranger.record()
	stranger.importJob(s)
	if _, err := s.SendAside(t.Context(), stranger.http); !errors.Is(err, replica.ErrBadFrame) {
		t.Errorf("a device that is not revoked: %v", err)
	}
	for range 60 {
		err = w.Accounts.MayLeaveAside(t.Context(), "203.0.113.7", "")
	}
	if !errors.Is(err, replica.ErrSlowDown) {
		t.Errorf("the 60th time from one address: %v", err)
	}
}
