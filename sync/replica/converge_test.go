package replica_test

import (
	"errors"
	"fmt"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/storetest"
)

// Whatever is lost, doubled or killed on the way: when the network is back, every replica holds the same job, and it
// holds each record exactly once.
func TestConverges(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(t, storetest.SQLite(t))
		devices := []*device{w.join(1, jobs.Supervisor), w.join(2, jobs.Site), w.join(3, jobs.Site)}
		devices[0].importHouse()
		for _, d := range devices {
			d.sync()
		}
		recorded := 3
		pick := func() *device { return devices[rapid.IntRange(0, 2).Draw(rt, "device")] }
		rt.Repeat(map[string]func(*rapid.T){
			"install": func(rt *rapid.T) {
				d, layer := pick(), rapid.IntRange(1, 4).Draw(rt, "layer")
				recorded += count(d.try(fmt.Sprintf(`{"do":"install","surface":"C1","layer":%d,"share":0.25}`, layer)))
			},
			"check": func(rt *rapid.T) {
				result := rapid.SampledFrom([]string{"pass", "fail", "could_not_see"}).Draw(rt, "result")
				recorded += count(pick().try(fmt.Sprintf(`{"do":"check","surface":"C1","layer":2,"check":"K23","result":%q,"evidence":2,"measured":{"gap_mm":1,"length_m":1}}`, result)))
			},
			"notes": func(rt *rapid.T) {
				recorded += count(pick().try(note("one"), note("two"), note("three")))
			},
			"exchange": func(rt *rapid.T) {
				d := pick()
				d.net.loseAsk = rapid.SampledFrom([]int{0, 0, 0, 1}).Draw(rt, "asks lost")
				d.net.loseAnswer = rapid.SampledFrom([]int{0, 0, 1, 2}).Draw(rt, "answers lost")
				if _, err := d.Sync(ctx, d.net); err != nil && !errors.Is(err, replica.ErrUnreachable) {
					rt.Fatalf("sync of %s: %v", d.id, err)
				}
				d.net.loseAsk, d.net.loseAnswer = 0, 0
			},
			"doubled": func(rt *rapid.T) { // what is on its way arrives, and the device does not know
				d := pick()
				if n, _, _, err := d.Waiting(ctx, company); n == 0 || err != nil {
					rt.Skip("nothing waits")
				}
				if _, err := w.server.Receive(ctx, company, d.net.pusher(), d.batch()); err != nil {
					rt.Fatal(err)
				}
			},
			"killed": func(rt *rapid.T) { pick().open(company) },
			"clock":  func(rt *rapid.T) { w.now = w.now.Add(msOf(rapid.IntRange(-600_000, 600_000).Draw(rt, "ms"))) },
		})
		for range 2 {
			for _, d := range devices {
				d.sync()
			}
		}
		want := w.settled()
		for _, d := range devices {
			if d.settled() != want {
				rt.Fatalf("device %s holds another job", d.id)
			}
			j, err := d.Job(ctx, company, jobID)
			if export(t, j, err) != want {
				rt.Fatalf("device %s shows another job than it holds", d.id)
			}
			d.open(company)
			j, err = d.Job(ctx, company, jobID)
			if export(t, j, err) != want {
				rt.Fatalf("device %s started anew shows another job", d.id)
			}
			if p, err := d.Prove(ctx, company, jobID); err != nil || p.Entries != recorded || p.Unsealed != 0 {
				rt.Fatalf("device %s: %+v of %d entries, %v", d.id, p, recorded, err)
			}
		}
		if acts, err := w.server.VerifyLog(ctx, company); err != nil || acts != int64(recorded) {
			rt.Fatalf("%d acts for %d entries, %v", acts, recorded, err)
		}
	})
}

// The server is restored from older states of itself, again and again, while messages get lost: what any device has
// recorded is in the end at the server and on every device, once.
func TestConvergesOverRestores(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(t, storetest.SQLite(t))
		devices := []*device{w.join(1, jobs.Supervisor), w.join(2, jobs.Site)}
		devices[0].importHouse()
		for _, d := range devices {
			d.sync()
		}
		dir, backups, servers, recorded := t.TempDir(), 0, 1, 3
		backup := func() {
			backups++
			at := filepath.Join(dir, fmt.Sprintf("%d.db", backups))
			if err := w.store.(*store.Store).DB().Exec("VACUUM INTO ?", at).Error; err != nil {
				rt.Fatal(err)
			}
		}
		backup()
		rt.Repeat(map[string]func(*rapid.T){
			"note": func(rt *rapid.T) {
				recorded += len(devices[rapid.IntRange(0, 1).Draw(rt, "device")].record(note("x")))
			},
			"exchange": func(rt *rapid.T) {
				d := devices[rapid.IntRange(0, 1).Draw(rt, "device")]
				d.net.loseAnswer = rapid.SampledFrom([]int{0, 0, 0, 1}).Draw(rt, "answers lost")
				if _, err := d.Sync(ctx, d.net); err != nil && !errors.Is(err, replica.ErrUnreachable) {
					rt.Fatalf("sync of %s: %v", d.id, err)
				}
				d.net.loseAnswer = 0
			},
			"backup": func(*rapid.T) { backup() },
			"restore": func(rt *rapid.T) {
				from := filepath.Join(dir, fmt.Sprintf("%d.db", rapid.IntRange(1, backups).Draw(rt, "backup")))
				servers++ // a restored server takes a new id: it may have written more than it knows
				at := filepath.Join(dir, fmt.Sprintf("server%d.db", servers))
				writeFile(t, at, readFile(t, from))
				w.store = openStore(t, at)
				w.server = replica.New(replica.Config{Store: w.store, Blobs: devices[0].dir, Device: w.id("e", servers), Key: w.key, Now: w.at, Rand: w.rand})
			},
			"killed": func(rt *rapid.T) { devices[rapid.IntRange(0, 1).Draw(rt, "device")].open(company) },
		})
		for range 2 {
			for _, d := range devices {
				d.sync()
			}
		}
		for _, d := range devices {
			if d.settled() != w.settled() {
				rt.Fatalf("device %s holds another job than the server", d.id)
			}
			if p, err := d.Prove(ctx, company, jobID); err != nil || p.Entries != recorded {
				rt.Fatalf("device %s: %+v of %d, %v", d.id, p, recorded, err)
			}
		}
		if acts, err := w.server.VerifyLog(ctx, company); err != nil || acts != int64(recorded) {
			rt.Fatalf("%d acts for %d entries, %v", acts, recorded, err)
		}
	})
}

// count counts what was recorded; what the desk refuses is none.
func count(es []jobs.Entry, err error) int {
	var in *jobs.InputError
	if err != nil && !errors.As(err, &in) && !errors.Is(err, jobs.ErrRefused) {
		panic(err)
	}
	return len(es)
}

// Two programs on one home draw no place and no number twice, and each sees what the other saved.
func TestTwoProgramsOneHome(t *testing.T) {
	w := newWorld(t, storetest.SQLite(t))
	path := filepath.Join(t.TempDir(), "home.db")
	me := replica.Me{Company: company, Device: w.id("d", 1), Person: w.id("b", 1), Role: jobs.Supervisor}
	var programs []*device
	for range 2 {
		s, err := store.Open(ctx, path)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			if err := s.Close(); err != nil {
				t.Error(err)
			}
		})
		own := newWorld(t, w.store) // its own clock and randomness, as another process has
		own.rand.Seed([32]byte{byte(len(programs) + 7)})
		d := &device{world: own, id: me.Device, key: w.key, me: me, store: s, dir: w.join(8+len(programs), jobs.Site).dir}
		d.open(company)
		programs = append(programs, d)
	}
	if err := replica.Settle(ctx, programs[0].store, me); err != nil {
		t.Fatal(err)
	}
	programs[0].importHouse()
	const each = 40
	done := make(chan error)
	for _, d := range programs {
		go func() {
			for range each {
				if _, err := d.try(note("x")); err != nil {
					done <- err
					return
				}
			}
			done <- nil
		}()
	}
	for range programs {
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
	for _, d := range programs {
		if p, err := d.Prove(ctx, company, jobID); err != nil || p.Entries != 3+2*each || p.Lanes != 1 {
			t.Errorf("%+v, %v", p, err)
		}
		if j, err := d.Job(ctx, company, jobID); err != nil || len(j.Records) != 3+2*each {
			t.Errorf("a program does not see what the other saved: %v", err)
		}
	}
}
