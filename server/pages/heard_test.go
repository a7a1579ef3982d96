package pages_test

import (
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// The supervisor's newest answer stands under the first line, until the site records something or days have passed.
func TestTheSupervisorsAnswerIsHeard(t *testing.T) {
	w := lanternWorld(t)
	w.As(pagestest.Idris, jobs.Site)
	line := func(path string) string {
		for _, p := range page(t, w, path).all(".heard") {
			return p.words()
		}
		return ""
	}
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"audit","surface":"C1","layer":3,"answer":"coming"}`)
	if got := line(c1); !strings.HasPrefix(got, "Maren Tolleby, today ") || !strings.HasSuffix(got, ", on layer 3: The supervisor is coming.") {
		t.Errorf("of who is coming it says %q", got)
	}
	now := w.Now
	w.Now = now.Add(4 * 24 * time.Hour)
	if got := line(c1); got != "" {
		t.Errorf("days later it still says %q", got)
	}
	w.Now = now.Add(time.Minute)
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"substitute","surface":"C1","layer":4,"state":"refused","reason":"too light for the joists' span"}`)
	if got := line(c1); !strings.HasPrefix(got, "Maren Tolleby, today ") || !strings.HasSuffix(got, ", on layer 4: Substitution refused; too light for the joists' span.") {
		t.Errorf("of what was refused it says %q", got)
	}
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"audit","surface":"C1","layer":3,"answer":"put_right","note":"bead open at the door"}`)
	if first, got := page(t, w, c1).one(t, "h1").words(), line(c1); !strings.Contains(first, "bead open") || got != "" {
		t.Errorf("after %q it is said twice: %q", first, got)
	}
	w.Record(pagestest.Maren, jobs.Supervisor, pagestest.Job, `{"do":"audit","surface":"C1","layer":3,"answer":"coming"}`)
	w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"note","surface":"C1","layer":3,"text":"seen"}`)
	if got := line(c1); got != "" {
		t.Errorf("after the site's own word it still says %q", got)
	}
}
