package app_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
)

// Pages about people that name jobs say, where many jobs have just arrived, how far these are read, and ask again by themselves; then each
// is there with the jobs in it. A form that is sent meanwhile is not lost: it waits for the jobs and is taken.
func TestPagesAboutPeopleSayHowFarTheyAre(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	d := w.enrol(w.co, "an.owner", jobs.Owner)
	reed := w.user(w.co, "m.reed", jobs.Site)
	rec := d.record()
	b := w.signIn("an.owner")
	reading := regexp.MustCompile(`<h1>Reading \d+ of (\d+) jobs\.</h1>`)
	all := 0
	arrive := func() (last string) {
		for range 45 {
			last = d.importJob(rec)
		}
		all += 45
		d.sync(rec)
		return last
	}
	for path, there := range map[string]string{"/guests": "<h1>Guests</h1>", "/people/" + reed.Person + "/jobs": "<h1>The jobs that ", "/privacy/looks": "<h1>Who looked</h1>"} {
		arrive()
		r := b.get(path)
		if m := reading.FindSubmatch(r.body); m == nil || r.header.Get("Refresh") == "" {
			t.Errorf("%s at first: %d, Refresh %q, %.900s", path, r.status, r.header.Get("Refresh"), r.body)
		}
		if !strings.Contains(string(r.body), `<progress max="`) || !strings.Contains(string(r.body), `href="`+path+`"`) {
			t.Errorf("%s shows no progress, or does not lead back to itself", path)
		}
		for began := time.Now(); !strings.Contains(string(r.body), there) && time.Since(began) < time.Minute; r = b.get(path) {
			time.Sleep(20 * time.Millisecond)
		}
		if r.header.Get("Refresh") != "" || !strings.Contains(string(r.body), there) {
			t.Errorf("%s in the end: %d %.900s", path, r.status, r.body)
		}
		if path != "/privacy/looks" && !strings.Contains(string(r.body), "Canal Row (invented)") {
			t.Errorf("%s names no job", path)
		}
	}
	job := arrive()
	r := b.post("/guests", map[string][]string{"job": {job}, "name": {"Building control"}, "days": {"14"}}, nil)
	if link := shown(t, r); !strings.Contains(link, "/guest/") {
		t.Errorf("a link made while jobs arrive: %s", link)
	}
	if n := strings.Count(string(b.get("/guests").body), fmt.Sprintf("<option value=%q", job)); n != 1 || all != 180 {
		t.Errorf("of %d jobs, the last stands %d times in the list", all, n)
	}
}
