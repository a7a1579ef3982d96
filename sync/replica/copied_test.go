package replica_test

import (
	"errors"
	"testing"

	"tacet/jobs"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// A home whose disk was copied is told so as soon as it meets what the other one wrote, and records on as another device. It
// once took that in as its own, and then had no number left for anything it recorded.
func TestCopiedHomeThatOnlyReads(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	a, first := w.join(1, jobs.Supervisor), w.join(2, jobs.Site)
	a.importHouse()
	a.sync()
	first.sync()
	other := &device{world: w, id: first.id, key: first.key, store: storetest.SQLite(t), dir: photo.NewDir(t.TempDir()), me: first.me}
	if err := replica.Settle(ctx, other.store, other.me); err != nil {
		t.Fatal(err)
	}
	other.open(company)
	other.net = &network{d: other}
	other.sync()
	other.record(note("by the copy"))
	other.sync()
	if _, err := first.Sync(ctx, first.net); !errors.Is(err, replica.ErrLaneForked) {
		t.Fatalf("the first one meets what its copy wrote: %v", err)
	}
	id, key := w.id("d", 9), w.newKey()
	if _, err := first.Succeed(ctx, id, key); err != nil {
		t.Fatal(err)
	}
	first.id, first.key = id, key
	first.record(note("by the first one"))
	first.sync()
	other.sync()
	a.sync()
	for _, d := range []*device{first, other} {
		if d.settled() != a.settled() {
			t.Errorf("%s holds another job", d.id)
		}
	}
}
