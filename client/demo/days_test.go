package demo

import (
	"strings"
	"testing"
	"time"

	"tacet/testdata"
)

// The story can be played on a machine whose clock is years behind.
func TestStoryLiesBehind(t *testing.T) {
	story, err := testdata.Files.ReadFile("demo/story.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, now := range []time.Time{time.Date(2024, 2, 29, 12, 0, 0, 0, time.UTC), time.Date(2026, 11, 5, 0, 0, 0, 0, time.UTC)} {
		moved := before(story, now)
		all := moment.FindAllString(string(moved), -1)
		if len(all) < 50 || len(moved) != len(story) {
			t.Fatalf("%d moments", len(all))
		}
		for _, m := range all {
			if at, err := time.Parse(time.RFC3339, m); err != nil || at.After(now) {
				t.Errorf("%s lies after %s", m, now)
			}
		}
	}
	if got := before(story, time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)); !strings.Contains(string(got), "2026-11-02T10:20:00Z") {
		t.Error("what lies behind is moved")
	}
}
