package home_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/sync/replica"
)

const rightPin = "402917"

// A PIN opens a shared device without any network, for whoever's it is; wrong tries wait longer and longer, also when the program is
// stopped and started; the right one after the wait always works, and the file shows no PIN.
func TestPin(t *testing.T) {
	h, _ := joined(t)
	if shared, err := h.Shared(); shared || err != nil {
		t.Fatalf("a device without PINs is shared: %v", err)
	}
	for _, bad := range []string{"", "12345", "123456", "876543", "111111", "12345a", "1234567890123", "40291٧"} {
		var in *jobs.InputError
		if err := h.SetPin(t.Context(), bad); !errors.As(err, &in) {
			t.Errorf("PIN %q: %v", bad, err)
		}
	}
	if err := h.SetPin(t.Context(), rightPin); err != nil {
		t.Fatal(err)
	}
	if shared, err := h.Shared(); !shared || err != nil {
		t.Errorf("with a PIN it is not shared: %v", err)
	}
	file := filepath.Join(h.Dir, "pins.json")
	data, err := os.ReadFile(file)
	if err != nil || bytes.Contains(data, []byte(rightPin)) || !bytes.Contains(data, []byte("$argon2id$")) {
		t.Errorf("the file: %s, %v", data, err)
	}
	if st, err := os.Stat(file); err != nil || st.Mode().Perm() != 0o600 {
		t.Errorf("the file is %v, %v", st.Mode(), err)
	}
	now := time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)
	who, err := h.Unlock(" Idris ", rightPin, now)
	if err != nil || who.Person != h.Me.Person || who.Role != jobs.Site {
		t.Errorf("the right PIN opens it for %+v, %v", who, err)
	}
	if _, err := h.Unlock("nobody", rightPin, now); !errors.Is(err, replica.ErrSignIn) {
		t.Errorf("a login that has no PIN: %v", err)
	}
	for i := range 4 {
		if _, err := h.Unlock("idris", "402918", now); !errors.Is(err, replica.ErrSignIn) {
			t.Fatalf("wrong PIN %d: %v", i+1, err)
		}
	}
	var slow *replica.Refusal
	if _, err := h.Unlock("idris", rightPin, now); !errors.As(err, &slow) || slow.Err != replica.ErrSlowDown || slow.RetryAfter != 2*time.Second {
		t.Errorf("at once after four wrong ones: %v", err)
	}
	again := open(t, h.Dir) // the program stopped and started
	waits := time.Duration(0)
	for range 20 {
		_, err := again.Unlock("idris", "402918", now)
		if errors.As(err, &slow) && slow.Err == replica.ErrSlowDown {
			now = now.Add(slow.RetryAfter)
			waits += slow.RetryAfter
		}
	}
	if waits < 30*time.Minute {
		t.Errorf("twenty more tries cost only %s", waits)
	}
	if _, err := again.Unlock("idris", rightPin, now.Add(20*time.Minute)); err != nil {
		t.Errorf("the right PIN after the wait: %v", err)
	}
	if err := os.WriteFile(file, []byte("{"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := h.Shared(); err == nil {
		t.Error("a broken file is taken for a device without PINs")
	}
	if err := h.DropPins(); err != nil {
		t.Fatal(err)
	}
	if shared, err := h.Shared(); shared || err != nil {
		t.Errorf("after dropping it is shared: %v", err)
	}
}
