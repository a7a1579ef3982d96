package pages_test

import (
	"fmt"
	"net/http"
	"net/url"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/pages"
	"tacet/server/pages/pagestest"
)

func TestTimeOfDay(t *testing.T) {
	for _, c := range []struct {
		typed string
		want  int // minutes since midnight, -1 where it is refused
	}{
		{"16:30", 990}, {"16.30", 990}, {"1630", 990}, {" 1630 ", 990}, {"9:30", 570}, {"9.30", 570}, {"930", 570}, {"0930", 570}, {"09:30", 570},
		{"0:00", 0}, {"0000", 0}, {"000", 0}, {"23:59", 1439}, {"2359", 1439},
		{"", -1}, {"16", -1}, {"9", -1}, {"24:00", -1}, {"2400", -1}, {"16:60", -1}, {"1660", -1}, {"960", -1}, {"16:3", -1}, {"16:", -1}, {":30", -1},
		{"16,30", -1}, {"16 30", -1}, {"16h30", -1}, {"4:30 pm", -1}, {"16:30:00", -1}, {"163000", -1}, {"-930", -1}, {"+930", -1}, {"half past four", -1}, {"16..30", -1}, {"१६३०", -1},
	} {
		got, ok := pages.TimeOfDay(c.typed)
		if ok != (c.want >= 0) || ok && got != c.want {
			t.Errorf("%q is read as %d (%v), want %d", c.typed, got, ok, c.want)
		}
	}
	for m, want := range map[int]string{0: "00:00", 570: "09:30", 1439: "23:59"} {
		if got := pages.ClockWords(m); got != want {
			t.Errorf("%d minutes are shown as %q, want %q", m, got, want)
		}
	}
}

// Each form that asks for a time takes it as people type it.
func TestTimesTypedOnForms(t *testing.T) {
	w := lanternWorld(t)
	for i, typed := range []string{"1630", "16.30", "16:30"} {
		// another one each time: the same record twice is one
		post(t, w, c1+"/3/ready", url.Values{"day": {"2026-11-26"}, "cover_at": {typed}, "note": {fmt.Sprint("time ", i)}}).mustSee(t, c1)
		if got, want := w.JobAs(pagestest.Job).Surface("C1").Layer(3).CoverAt, "2026-11-26T16:30:00Z"; got != want {
			t.Errorf("%q: to be covered at %s, want %s", typed, got, want)
		}
	}
	for i, typed := range []string{"2026-11-25 1005", "2026-11-25 10.05", "2026-11-25T10:05", "2026-11-25T10:05:00"} {
		post(t, w, c1+"/note", url.Values{"text": {fmt.Sprint("note ", i)}, "at": {typed}}).mustSee(t, c1)
		r := last(t, w.JobAs(pagestest.Job), "note")
		if got, want := r.DoneAt().UTC(), time.Date(2026, 11, 25, 10, 5, 0, 0, time.UTC); !got.Equal(want) || r.What.(*jobs.Note).Text != fmt.Sprint("note ", i) {
			t.Errorf("%q: done at %s, want %s", typed, got, want)
		}
	}
	for _, typed := range []string{"2026-11-25", "2026-11-25 10", "1005", "2026-02-30 10:05", "2026-11-25 10:05 UTC"} {
		if r := post(t, w, c1+"/note", url.Values{"text": {"so"}, "at": {typed}}); r.status != http.StatusUnprocessableEntity {
			t.Errorf("%q is taken: %d", typed, r.status)
		}
	}
}
