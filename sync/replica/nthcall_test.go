package replica_test

import (
	"errors"
	"fmt"
	"testing"

	"tacet/jobs"
	"tacet/sync/photo"
	"tacet/sync/replica"
	"tacet/sync/storetest"
)

// bench is two devices and a server whose stores and photo folders fail when they are told to.
type bench struct {
	*world
	a, b                   *device
	home, office           *storetest.Failing
	homeAlbum, officeAlbum *storetest.FailingBlobs
	sides                  []*storetest.Side
	calls                  int // until one fails; below 0 none does
	failed                 string
	why                    error
	words                  int
}

func newBench(t *testing.T) *bench {
	t.Helper()
	f := &bench{office: &storetest.Failing{Store: storetest.SQLite(t)}, calls: -1}
	f.world = newWorld(t, f.office)
	f.a, f.b = f.join(1, jobs.Supervisor), f.join(2, jobs.Site)
	f.a.importHouse()
	f.a.sync()
	f.b.sync()
	f.home, f.homeAlbum = &storetest.Failing{Store: f.a.store}, &storetest.FailingBlobs{Blobs: f.a.dir}
	f.officeAlbum = &storetest.FailingBlobs{Blobs: photo.NewDir(t.TempDir())}
	f.start()
	f.sides = []*storetest.Side{{Name: "the server", Store: f.office, Blobs: f.officeAlbum}, {Name: "a", Store: f.home, Blobs: f.homeAlbum, Saved: map[jobs.Hash]bool{}}, {Name: "b", Store: f.b.store, Blobs: f.b.dir}}
	return f
}

// start starts both programs anew.
func (f *bench) start() {
	f.a.Replica = replica.New(replica.Config{Store: f.home, Blobs: f.homeAlbum, Company: company, Device: f.a.id, Key: f.a.key, Now: f.at, Rand: f.rand})
	f.server = replica.New(replica.Config{Store: f.office, Blobs: f.officeAlbum, Device: f.id("e", 1), Key: f.key, Now: f.at, Rand: f.rand})
}

// fail is asked before each call.
func (f *bench) fail(where string) func(string) error {
	return func(call string) error {
		if f.calls--; f.calls != -1 {
			return nil
		}
		f.failed = where + " " + call
		return f.why
	}
}

func (f *bench) word(d *device) string {
	f.words++
	return note(fmt.Sprintf("%s says %d", d.id, f.words))
}

// picture puts a photo on a device's disk and gives the record that names it.
func (f *bench) picture(blobs replica.Blobs) (string, error) {
	f.words++
	h, err := blobs.Put(ctx, company, fmt.Appendf(nil, "picture %d", f.words))
	return fmt.Sprintf(`{"do":"photo","surface":"C1","file":%q}`, h), err
}

// save records on a and notes what was said to be saved.
func (f *bench) save(edge string, err error) error {
	if err != nil {
		return err
	}
	es, err := f.a.try(edge)
	for _, e := range es {
		f.sides[1].Saved[e.Hash] = true
	}
	return err
}

// prepare has something to send and something to fetch on both sides.
func (f *bench) prepare() error {
	if err := f.save(f.word(f.a), nil); err != nil {
		return err
	}
	if err := f.save(f.picture(f.homeAlbum)); err != nil {
		return err
	}
	edge, err := f.picture(f.b.dir)
	if err != nil {
		return err
	}
	if _, err := f.b.try(edge, f.word(f.b)); err != nil {
		return err
	}
	_, err = f.b.Sync(ctx, f.b.net)
	return err
}

func (f *bench) exchange() error {
	_, err := f.a.Sync(ctx, f.a.net)
	return err
}

// The n-th call of a store or of a photo folder fails, for every n: whatever was asked for comes to nothing or to its whole,
// nothing that was said to be saved is lost, nothing is there twice, and the next try finishes.
func TestNthCallFails(t *testing.T) {
	t.Parallel()
	f := newBench(t)
	nothing := func() error { return nil }
	whys := []error{errors.New("input/output error"), replica.ErrBusy, replica.ErrNoSpace}
	total, step := 0, 1
	if testing.Short() {
		step = 10 // the race detector looks at each step ten times as long; no multiple of three, for the reasons to change
	}
	for _, c := range []struct {
		name    string
		prepare func() error
		do      func() error
		arm     func(fail func(where string) func(string) error)
	}{
		{"record", nothing, func() error { return f.save(f.word(f.a), nil) }, f.armHome},
		{"photo", nothing, func() error { return f.save(f.picture(f.homeAlbum)) }, f.armHome},
		{"exchange, at home", f.prepare, f.exchange, f.armHome},
		{"exchange, at the server", f.prepare, f.exchange, f.armOffice},
	} {
		n, failed := 0, 0
		for ; ; n += step {
			if err := c.prepare(); err != nil {
				t.Fatalf("%s: prepare: %v", c.name, err)
			}
			f.calls, f.failed, f.why = n, "", whys[n%len(whys)]
			c.arm(f.fail)
			err := c.do()
			c.arm(func(string) func(string) error { return nil })
			if f.failed == "" {
				if err != nil {
					t.Fatalf("%s: nothing failed, and it says %v", c.name, err)
				}
				break
			}
			failed++
			if n%3 == 0 {
				f.start()
			}
			f.look(t, fmt.Sprintf("%s: call %d, %s", c.name, n+1, f.failed), n%8 == 0)
		}
		if n < 5 {
			t.Errorf("%s: only %d calls were made", c.name, n)
		}
		total += failed
		t.Logf("%s: %d calls failed once each", c.name, failed)
	}
	t.Logf("evidence: %d calls failed, nothing lost, nothing twice", total)
}

func (f *bench) armHome(fail func(string) func(string) error) {
	f.homeAlbum.Fail = fail("photos")
	f.home.Fail = asked(fail("store"))
}

func (f *bench) armOffice(fail func(string) func(string) error) {
	f.officeAlbum.Fail = fail("photos")
	f.office.Fail = asked(fail("store"))
}

func asked(fail func(string) error) func(string, bool) error {
	if fail == nil {
		return nil
	}
	return func(call string, _ bool) error { return fail(call) }
}

// look checks all three stores, exchanges, and now and then compares them.
func (f *bench) look(t *testing.T, when string, closely bool) {
	t.Helper()
	for _, s := range f.sides[:2] {
		if err := s.Check(ctx, company); err != nil {
			t.Fatalf("%s: %v", when, err)
		}
	}
	if err := f.exchange(); err != nil {
		t.Fatalf("%s: the next exchange says %v", when, err)
	}
	if !closely {
		return
	}
	f.b.sync()
	f.sides[0].Replica, f.sides[1].Replica, f.sides[2].Replica = f.server, f.a.Replica, f.b.Replica
	if err := storetest.Agree(ctx, company, f.sides[0], f.sides[1], f.sides[2]); err != nil {
		t.Fatalf("%s: %v", when, err)
	}
	f.sides[0].Replica, f.sides[1].Replica, f.sides[2].Replica = nil, nil, nil
}
