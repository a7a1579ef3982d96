package pages_test

import (
	"strings"
	"testing"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// What is to be settled before handover names the stop checks that nobody has answered, a line for each surface, and no longer once they
// are passed or released.
func TestHandoverNamesOpenStopChecks(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Supervisor)
	line := func(surface string) string {
		t.Helper()
		said := ""
		for _, li := range page(t, w, lantern+"/handover").all("li") {
			words := li.words()
			if !strings.HasPrefix(words, surface+" ") || !strings.Contains(words, "stop check") {
				continue
			}
			if said != "" {
				t.Errorf("%s has two lines: %s", surface, words)
			}
			said = words
			if len(li.all("a[href="+lantern+"/s/"+surface+"]")) != 1 {
				t.Errorf("no way to %s: %s", surface, words)
			}
		}
		return said
	}
	if got, want := line("C1"), "3 stop checks are open. Whole surface: K44 air still moves, K47 substitutions answered. Layer 3: K23 perimeter sealed."; !strings.Contains(got, want) {
		t.Errorf("C1: %q, want %q in it", got, want)
	}
	// K28 of the wall's layer 4 is disputed, K32 of the floor's layer 1 failed: they stand there as found wrong, not as open.
	for surface, code := range map[string]string{"W1": "K28", "F1": "K32"} {
		if got := line(surface); strings.Contains(got, code) {
			t.Errorf("%s is told twice: %q", code, got)
		}
	}
	if got := line("X1"); got != "" {
		t.Errorf("nothing stands of the boxing, and its checks are asked for: %q", got)
	}
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"check","surface":"C1","layer":3,"check":"K23","result":"pass","measured":{"gap_mm":0},"evidence":3,"photos":["`+w.Photo()+`"]}`,
		`{"do":"release","surface":"C1","layer":0,"checks":["K44"]}`)
	if got, want := line("C1"), "1 stop check is open. Whole surface: K47 substitutions answered."; !strings.Contains(got, want) {
		t.Errorf("C1 after a pass and a release: %q, want %q in it", got, want)
	}
}

// What somebody typed begins with a capital on a page, in whatever language it is.
func TestFirstLetterOfWhatSomebodyTyped(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Office)
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"complaint","words":"thud","kind":"écho","received":"2026-11-20"}`)
	if got := page(t, w, lantern+"/handover").words(); !strings.Contains(got, "Écho, received") {
		t.Errorf("no Écho in %q", got)
	}
}

// What is still to come is told apart: nothing of it, or so many of so many layers.
func TestHandoverSaysHowMuchIsInPlace(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Maren, jobs.Office)
	got := page(t, w, lantern+"/handover").words()
	for surface, says := range map[string]string{
		"X1 Boxing, living room, ground floor":  "Nothing is in place yet, of 4 layers.",
		"C1 Ceiling, living room, ground floor": "2 of 5 layers are not wholly in place.",
	} {
		if !strings.Contains(got, surface+" "+says) {
			t.Errorf("of %s it does not say %q: %s", surface, says, got)
		}
	}
}
