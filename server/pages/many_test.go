package pages_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
)

// A firm with many jobs: the first look at the list, and at the queue, says how many jobs are read of how many and asks again by itself; then the page
// is there, follows what changes, and the list of jobs is found through by name.
func TestManyJobs(t *testing.T) {
	w := pagestest.New(t, pagestest.Options{})
	const n = 60
	id := func(i int) string { return fmt.Sprintf("018f0000-0000-7000-8000-0000000b%04d", i) }
	for i := range n {
		w.ImportJSON(id(i), fmt.Appendf(nil, `{"name":"Canal Row %d","site":"Marlsea","surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":2.5,"specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`, i))
	}
	w.Record(pagestest.Idris, jobs.Site, id(7), `{"do":"install","surface":"W1","layer":1,"share":1}`, `{"do":"ready","surface":"W1","layer":1}`)
	w.As(pagestest.Maren, jobs.Supervisor)
	r := get(t, w, "/")
	if !strings.Contains(r.body, fmt.Sprintf("of %d jobs.", n)) || r.header.Get("Refresh") == "" {
		t.Errorf("the first look at the list: %d, Refresh %q, %.600s", r.status, r.header.Get("Refresh"), r.body)
	}
	for began := time.Now(); !strings.Contains(r.body, fmt.Sprintf("<h1>%d jobs.</h1>", n)) && time.Since(began) < time.Minute; r = get(t, w, "/") {
		time.Sleep(50 * time.Millisecond)
	}
	if r.header.Get("Refresh") != "" || !strings.Contains(r.body, "Canal Row 59") {
		t.Fatalf("the list: %.900s", r.body)
	}
	r = get(t, w, "/queue")
	if !strings.Contains(r.body, fmt.Sprintf("of %d jobs.", n)) || r.header.Get("Refresh") == "" {
		t.Errorf("the first look: %d, Refresh %q, %.600s", r.status, r.header.Get("Refresh"), r.body)
	}
	for began := time.Now(); !strings.Contains(r.body, "1 layer to be seen") && time.Since(began) < time.Minute; r = get(t, w, "/queue") {
		time.Sleep(50 * time.Millisecond)
	}
	if !strings.Contains(r.body, "1 layer to be seen") || !strings.Contains(r.body, "Canal Row 7") {
		t.Fatalf("the queue: %.900s", r.body)
	}
	w.Record(pagestest.Idris, jobs.Site, id(8), `{"do":"install","surface":"W1","layer":1,"share":1}`, `{"do":"ready","surface":"W1","layer":1}`)
	if r = get(t, w, "/queue"); !strings.Contains(r.body, "2 layers to be seen") {
		t.Errorf("the queue after one more: %.900s", r.body)
	}
	if r = get(t, w, "/?find=row+59"); !strings.Contains(r.body, "Canal Row 59") || strings.Contains(r.body, "Canal Row 58") {
		t.Errorf("finding a job: %.900s", r.body)
	}
}
