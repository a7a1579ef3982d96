package notice_test

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/notice"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/store"
)

// A board goes up and the crew says that it is ready: somebody has to look before it is covered.
func ExampleThings() {
	dir, err := os.MkdirTemp("", "tacet")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	ctx := context.Background()
	s, err := store.Open(ctx, filepath.Join(dir, "tacet.db"))
	if err != nil {
		fmt.Println(err)
		return
	}
	defer s.Close()
	keys, err := accounts.LoadKeys(filepath.Join(dir, "keys"))
	if err != nil {
		fmt.Println(err)
		return
	}
	r := replica.New(replica.Config{Store: s, Blobs: photo.NewDir(dir), Device: keys.Server, Key: keys.Record, Now: time.Now, Rand: rand.Reader})
	const company, person, job = "01900000-0000-7000-8000-00000000c001", "01900000-0000-7000-8000-00000000b001", "01900000-0000-7000-8000-00000000a001"
	edges, err := jobs.Import([]byte(`{"name":"Lantern Row","surfaces":[{"code":"W1","kind":"wall","width_m":4,"height_m":2.5,
	  "specified":[{"kind":"board","thickness_mm":15,"mass_kg_m2":12.6}]}]}`))
	if err != nil {
		fmt.Println(err)
		return
	}
	edges = append(edges, json.RawMessage(`{"do":"install","surface":"W1","layer":1,"share":1}`), json.RawMessage(`{"do":"ready","surface":"W1","layer":1}`))
	if _, err := r.Record(ctx, company, jobs.Author{Person: person, Role: jobs.Supervisor}, job, edges); err != nil {
		fmt.Println(err)
		return
	}
	j, err := r.Job(ctx, company, job)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, t := range notice.Things([]*jobs.Job{j}) {
		fmt.Println(t.Kind, t.Surface, t.Layer, t.JobName)
	}
	// Output: to_see W1 1 Lantern Row
}
