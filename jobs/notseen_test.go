package jobs_test

import (
	"slices"
	"testing"

	"tacet/jobs"
)

// What nobody saw is read surface by surface, not check by check; nothing of it is lost.
func TestNotSeenIsReadBySurface(t *testing.T) {
	got := jobs.NotSeenBySurface([]string{
		"C1, layer 3: covered unseen (board 15 mm)",
		"C1, layer 4: covered unseen (membrane 2 mm)",
		"C1: K02 Holes filled: nobody answered",
		"C1, layer 5: K19 Screw length: nobody answered",
		"W1, layer 2: K23 Perimeter sealed: could not be seen",
		"C1: K13 Cables: released without an answer",
		"a line of another form",
	})
	want := []string{
		"C1: covered unseen: layer 3 (board 15 mm), layer 4 (membrane 2 mm); nobody answered: K02 holes filled, K19 screw length of layer 5; released without an answer: K13 cables",
		"W1: could not be seen: K23 perimeter sealed of layer 2",
		"a line of another form",
	}
	if !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
}
