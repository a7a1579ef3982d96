package replica_test

import (
	"bufio"
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/store"
)

// writer is the program that is killed: it records without end and says each id once it is saved.
func writer(path string) error {
	ctx := context.Background()
	s, err := store.Open(ctx, path)
	if err != nil {
		return err
	}
	me, err := s.Active(ctx)
	if err != nil {
		return err
	}
	r := killable(s, me)
	for i := 0; ; i++ {
		edge := json.RawMessage(fmt.Sprintf(`{"do":"note","text":"note %d"}`, i))
		es, err := r.Record(ctx, me.Company, jobs.Author{Person: me.Person, Role: me.Role}, jobID, []json.RawMessage{edge})
		if err != nil {
			return err
		}
		fmt.Println(es[0].ID)
	}
}

func killable(s replica.Store, me replica.Me) *replica.Replica {
	return replica.New(replica.Config{Store: s, Blobs: photo.NewDir(os.TempDir()), Company: me.Company, Device: me.Device,
		Key: ed25519.NewKeyFromSeed(make([]byte, ed25519.SeedSize)), Now: time.Now, Rand: rand.Reader})
}

// A program that is killed at any moment has saved all that it said it had. (A kill leaves the page cache; what a power
// cut leaves is the matter of TestPowerCut.)
func TestKill(t *testing.T) {
	path := filepath.Join(t.TempDir(), "home.db")
	s, err := store.Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	me := replica.Me{Company: company, Device: "01900000-0000-7000-8000-0000000d0001", Person: "01900000-0000-7000-8000-0000000b0001", Role: jobs.Site}
	if err := replica.Settle(ctx, s, me); err != nil {
		t.Fatal(err)
	}
	r := killable(s, me)
	if _, err := r.Record(ctx, company, jobs.Author{Person: me.Person, Role: me.Role}, jobID, raws(`{"do":"job","name":"a job"}`)); err != nil {
		t.Fatal(err)
	}
	said := map[string]bool{}
	for kill := range 20 {
		for _, id := range killOnce(t, path, 5+kill%7) {
			said[id] = true
		}
	}
	states, err := r.States(ctx, company, jobID)
	if err != nil {
		t.Fatal(err)
	}
	for id := range said {
		if states[id] != replica.Unsent {
			t.Errorf("entry %s was said to be saved and is not here", id)
		}
	}
	p, err := r.Prove(ctx, company, jobID)
	if err != nil || p.Entries < len(said)+1 || len(said) < 20 {
		t.Errorf("%d said, %+v, %v", len(said), p, err)
	}
}

// killOnce lets the writer run until it has said a few ids, kills it, and returns all that it has said.
func killOnce(t *testing.T, path string, few int) (ids []string) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), "TACET_TEST_WRITER="+path)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		ids = append(ids, lines.Text())
		if len(ids) == few {
			if err := cmd.Process.Kill(); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := cmd.Wait(); err == nil {
		t.Fatal("the writer ended by itself")
	}
	if len(ids) < few {
		t.Fatalf("the writer said %d ids and ended", len(ids))
	}
	return ids
}
