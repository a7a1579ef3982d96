package privacy_test

import (
	"path/filepath"
	"slices"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/privacy"
	"tacet/sync/store"
)

// What a kind holds about people has a time for which it is kept, one and no more: a kind that no class names would never be counted as over
// its time.
func TestEveryKindAboutPeopleHasItsTime(t *testing.T) {
	dir := t.TempDir()
	s, err := store.Open(t.Context(), filepath.Join(dir, "tacet.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	keys, err := accounts.LoadKeys(filepath.Join(dir, "keys"))
	if err != nil {
		t.Fatal(err)
	}
	a, err := accounts.New(accounts.Config{DB: s.DB(), Record: s, Keys: keys})
	if err != nil {
		t.Fatal(err)
	}
	desk := privacy.Desk{Accounts: a, Now: time.Now}
	classes, err := desk.Classes(t.Context(), "none") // a firm that sets no times of its own
	if err != nil {
		t.Fatal(err)
	}
	const whole = "job" // its name and site are kept for as long as the job itself
	people := 0
	for _, kind := range jobs.Kinds() {
		in := 0
		for _, c := range classes {
			if slices.Contains(c.Kinds, kind) {
				in++
			}
		}
		// Who did it and the note are sealed in every kind; a kind that seals more than these two tells of people.
		about := len(jobs.SealedFields(kind)) > 2 && kind != whole
		if about {
			people++
		}
		if about != (in == 1) || in > 1 {
			t.Errorf("%s: tells of people: %v; in %d classes of what is kept for a time", kind, about, in)
		}
	}
	if people < 5 {
		t.Errorf("only %d kinds tell of people", people)
	}
}
