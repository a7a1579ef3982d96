package storetest

import (
	"context"
	"fmt"
	"testing"

	"tacet/jobs"
	"tacet/sync/replica"
)

// Ids for tests.
const (
	Company = "01900000-0000-7000-8000-00000000c001"
	Other   = "01900000-0000-7000-8000-00000000c002"
	Job     = "01900000-0000-7000-8000-00000000a001"
	Dev     = "01900000-0000-7000-8000-00000000d001"
	Person  = "01900000-0000-7000-8000-00000000b001"
)

// Run holds a store to its contract. open gives a fresh one.
func Run(t *testing.T, open func(testing.TB) replica.Store) {
	for _, c := range []struct {
		name string
		test func(*testing.T, replica.Store)
	}{
		{"an empty company is refused", emptyCompany},
		{"what one company keeps another does not see", companiesApart},
		{"an error takes everything back", rollback},
		{"entries come back as written", roundTrip},
		{"an erased body is NULL, not empty", nilBody},
		{"a key that was thrown away does not come back", droppedKey},
		{"the same place is given once", unique},
		{"writers queue", writersQueue},
		{"a snapshot does not move", snapshot},
		{"the log is read in order and within limits", log},
		{"seals keep their receipt", seals},
		{"identity: one is active", identity},
		{"a log that goes back takes what stood behind", goingBack},
		{"photos", photos},
		{"views say what they are made of", views},
		{"zero values are written", zeroValues},
	} {
		t.Run(c.name, func(t *testing.T) { c.test(t, open(t)) })
	}
}

// Entry makes the seq-th entry of a lane behind prev.
func Entry(t testing.TB, co, job, dev string, seq int64, prev jobs.Hash) jobs.Entry {
	t.Helper()
	e, err := jobs.NewEntry(jobs.Envelope{ID: fmt.Sprintf("01900000-0000-7000-%s-%012d", dev[32:], seq), Co: co, Job: job, Dev: dev, Seq: seq,
		Prev: prev, Run: seq, Clk: jobs.Clock(seq << 16), By: Person, Role: jobs.Site, Kind: "note", KV: 1}, []byte(`{"salt":"AAAAAAAAAAAAAAAAAAAAAA","text":"a note"}`))
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func chain(t testing.TB, co, job string, n int) []replica.Stored {
	t.Helper()
	var list []replica.Stored
	var prev jobs.Hash
	for i := range n {
		e := Entry(t, co, job, Dev, int64(i+1), prev)
		prev = e.Hash
		list = append(list, replica.Stored{Entry: e, State: replica.Unsent, At: 1000 + int64(i)})
	}
	return list
}

func write(t testing.TB, s replica.Store, co string, f func(replica.Tx) error) {
	t.Helper()
	if err := s.Write(context.Background(), co, f); err != nil {
		t.Fatal(err)
	}
}

func read(t testing.TB, s replica.Store, co string, f func(replica.Tx) error) {
	t.Helper()
	if err := s.Read(context.Background(), co, f); err != nil {
		t.Fatal(err)
	}
}
