package replica_test

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"tacet/jobs"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/store"
)

// A home that works alone: who it is, one job, one record, and the proof of it.
func Example() {
	dir, err := os.MkdirTemp("", "tacet")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	ctx := context.Background()
	s, err := store.Open(ctx, filepath.Join(dir, "home.db"))
	if err != nil {
		fmt.Println(err)
		return
	}
	defer s.Close()
	me := replica.Me{Company: "01900000-0000-7000-8000-00000000c001", Device: "01900000-0000-7000-8000-00000000d001",
		Person: "01900000-0000-7000-8000-00000000b001", Role: jobs.Owner}
	if err := replica.Settle(ctx, s, me); err != nil {
		fmt.Println(err)
		return
	}
	_, key, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		fmt.Println(err)
		return
	}
	r := replica.New(replica.Config{Store: s, Blobs: photo.NewDir(filepath.Join(dir, "photos")), Company: me.Company, Device: me.Device,
		Key: key, Now: time.Now, Rand: rand.Reader})
	job, err := r.NewID()
	if err != nil {
		fmt.Println(err)
		return
	}
	author := jobs.Author{Person: me.Person, Role: me.Role}
	es, err := r.Record(ctx, me.Company, author, job, []json.RawMessage{
		json.RawMessage(`{"do":"job","name":"7b Lantern Row"}`),
		json.RawMessage(`{"do":"note","text":"the key is with the neighbour"}`),
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	j, err := r.Job(ctx, me.Company, job)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(len(es), "entries of", j.Name)
	proof, err := r.Prove(ctx, me.Company, job)
	fmt.Printf("%d entries in %d lane, %d not sealed yet, %v\n", proof.Entries, proof.Lanes, proof.Unsealed, err)
	// Output:
	// 2 entries of 7b Lantern Row
	// 2 entries in 1 lane, 2 not sealed yet, <nil>
}
