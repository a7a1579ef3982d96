package pages_test

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"slices"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/pages/pagestest"
	"tacet/sync/photo"
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

// A pack with many photos is made beside the page, which says how far it is; it is there in the end, and may be stopped.
func TestALongPaperSaysHowFarItIs(t *testing.T) {
	w := lanternWorld(t)
	var shots []string
	for i := range 20 {
		img := image.NewGray(image.Rect(0, 0, 40, 30))
		img.Pix[0] = uint8(i * 10)
		var b bytes.Buffer
		if err := png.Encode(&b, img); err != nil {
			t.Fatal(err)
		}
		clean, err := photo.Prepare("photo", b.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		h, err := w.Blobs.Put(t.Context(), pagestest.Company, clean)
		if err != nil {
			t.Fatal(err)
		}
		shots = append(shots, `"`+h.String()+`"`)
	}
	for part := range slices.Chunk(shots, 5) {
		w.Record(pagestest.Idris, jobs.Site, pagestest.Job, `{"do":"note","surface":"C1","layer":3,"text":"as it was left","photos":[`+strings.Join(part, ",")+`]}`)
	}
	w.As(pagestest.Maren, jobs.Supervisor)
	pack := lantern + "/pack.pdf"
	r := get(t, w, pack)
	if r.header.Get("Refresh") == "" || !strings.Contains(r.body, "photos are in.") || !strings.Contains(r.body, `href="`+pack+`?stop=1"`) {
		t.Fatalf("the first answer: %d, Refresh %q, %.900s", r.status, r.header.Get("Refresh"), r.body)
	}
	get(t, w, pack+"?stop=1").mustSee(t, lantern+"/handover")
	for began := time.Now(); !strings.HasPrefix(r.body, "%PDF") && time.Since(began) < time.Minute; r = get(t, w, pack) {
		time.Sleep(50 * time.Millisecond)
	}
	if !strings.HasPrefix(r.body, "%PDF") || r.header.Get("Refresh") != "" || r.header.Get("Content-Type") != "application/pdf" {
		t.Errorf("in the end: %d %s %.300s", r.status, r.header.Get("Content-Type"), r.body)
	}
}
