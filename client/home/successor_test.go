package home_test

import (
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tacet/client/home"
	"tacet/jobs"
	"tacet/sync/replica"
)

func note(text string) []json.RawMessage {
	return edges(`{"do":"note","text":"` + text + `"}`)
}

// joined is a home with one job, at the server.
func joined(t *testing.T) (h *home.Home, job string) {
	t.Helper()
	server := firm(t)
	h = open(t, t.TempDir())
	job, err := h.NewJob(t.Context(), edges(wall))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := h.Join(t.Context(), server.URL, server.Code("idris"), "tablet"); err != nil {
		t.Fatal(err)
	}
	if _, err := h.Sync(t.Context()); err != nil {
		t.Fatal(err)
	}
	return h, job
}

func say(t *testing.T, h *home.Home, job, text string) {
	t.Helper()
	if _, err := h.Replica.Record(t.Context(), h.Me.Company, h.Author(), job, note(text)); err != nil {
		t.Fatal(err)
	}
}

func settled(t *testing.T, h *home.Home, job string) string {
	t.Helper()
	j, err := h.Replica.Settled(t.Context(), h.Me.Company, job)
	if err != nil {
		t.Fatal(err)
	}
	out, err := j.Export()
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// A home is backed up, works on and syncs; the backup is restored in another folder. It is a new device at once, introduced
// by the old key; all that was recorded on either is in the job once.
func TestRestoreIsANewDevice(t *testing.T) {
	h, job := joined(t)
	say(t, h, job, "in the backup, not sent")
	file := filepath.Join(t.TempDir(), "home.zip")
	if err := h.Backup(t.Context(), file, time.Now()); err != nil {
		t.Fatal(err)
	}
	say(t, h, job, "after the backup")
	if _, err := h.Sync(t.Context()); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "firm.txt"), []byte("what was here"), 0o600); err != nil {
		t.Fatal(err)
	}
	r, kept, err := home.Restore(t.Context(), dir, file, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	if was, err := os.ReadFile(filepath.Join(kept, "firm.txt")); err != nil || string(was) != "what was here" {
		t.Errorf("what was here: %q, %v", was, err)
	}
	s, is, err := r.Succession()
	if err != nil || !is || s.Was != h.Me.Device || s.Device != r.Me.Device || r.Me.Device == h.Me.Device || s.Again != 1 || s.Why != home.WhyRestored {
		t.Fatalf("%+v, %v", s, err)
	}
	say(t, r, job, "after the restore")
	if rep, err := r.Sync(t.Context()); err != nil || rep.Waiting != 0 {
		t.Fatalf("%+v, %v", rep, err)
	}
	if _, err := h.Sync(t.Context()); err != nil {
		t.Fatalf("the old device: %v", err)
	}
	out := settled(t, r, job)
	if out != settled(t, h, job) {
		t.Error("the two hold different jobs")
	}
	for _, words := range []string{"in the backup, not sent", "after the backup", "after the restore"} {
		if strings.Count(out, words) != 1 {
			t.Errorf("%q stands %d times", words, strings.Count(out, words))
		}
	}
	again := open(t, dir)
	if again.Me.Device != r.Me.Device {
		t.Error("opened again, it is another device")
	}
	var in *jobs.InputError
	if _, _, err := home.Restore(t.Context(), t.TempDir(), filepath.Join(dir, "first.json"), time.Now()); !errors.As(err, &in) {
		t.Errorf("no backup: %v", err)
	}
}

// A folder is copied and both are used: who comes second finds out by itself, within the same exchange.
func TestCopiedFolder(t *testing.T) {
	h, job := joined(t)
	say(t, h, job, "before the copy")
	dir := t.TempDir()
	if err := h.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(dir, os.DirFS(h.Dir)); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"keys", "sign-in.json"} {
		if _, err := os.Stat(filepath.Join(dir, key)); err != nil {
			t.Fatal(err)
		}
	}
	first, second := open(t, h.Dir), open(t, dir)
	say(t, first, job, "on the first")
	say(t, second, job, "on the second")
	if _, err := first.Sync(t.Context()); err != nil {
		t.Fatal(err)
	}
	other := open(t, dir) // another process of the second home
	rep, err := second.Sync(t.Context())
	if err != nil || rep.Waiting != 0 {
		t.Fatalf("%+v, %v", rep, err)
	}
	if s, is, err := second.Succession(); err != nil || !is || s.Why != home.WhyCopied || !s.Known || s.Was != first.Me.Device {
		t.Errorf("%+v, %v", s, err)
	}
	if _, err := other.Replica.Record(t.Context(), other.Me.Company, other.Author(), job, note("late")); !errors.Is(err, replica.ErrSuperseded) {
		t.Errorf("the other process writes on under the old id: %v", err)
	}
	if _, err := first.Sync(t.Context()); err != nil {
		t.Fatal(err)
	}
	out := settled(t, first, job)
	if out != settled(t, second, job) {
		t.Error("the two hold different jobs")
	}
	for _, words := range []string{"before the copy", "on the first", "on the second"} {
		if strings.Count(out, words) != 1 {
			t.Errorf("%q stands %d times", words, strings.Count(out, words))
		}
	}
}

// A device that was cut off leaves what it had not sent with the supervisor.
func TestCutOffDeviceLeavesItsWork(t *testing.T) {
	server := firm(t)
	h := open(t, t.TempDir())
	job, err := h.NewJob(t.Context(), edges(wall))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := h.Join(t.Context(), server.URL, server.Code("idris"), "tablet"); err != nil {
		t.Fatal(err)
	}
	if _, err := h.Sync(t.Context()); err != nil {
		t.Fatal(err)
	}
	say(t, h, job, "not sent")
	if err := server.Accounts.Revoke(t.Context(), h.Me.Device); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if _, err := h.Sync(t.Context()); !errors.Is(err, replica.ErrRevoked) {
			t.Fatalf("got %v", err)
		}
	}
	list, err := server.Replica.Asides(t.Context(), h.Me.Company, h.Me.Device)
	if err != nil || len(list) != 1 || list[0].Kind != "note" {
		t.Errorf("%+v, %v", list, err)
	}
}
