package app_test

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/app"
	"tacet/sync/replica"
)

// cluster is a PostgreSQL server of the test's own.
type cluster struct {
	t    *testing.T
	bin  string
	dir  string // socket, data
	user []string
}

func newCluster(t *testing.T, name string) *cluster {
	t.Helper()
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	if err != nil || len(found) == 0 || runtime.GOOS != "linux" {
		if os.Getenv("CI") == "true" {
			t.Fatal("PostgreSQL is not installed: promotion is not tested")
		}
		t.Skip("PostgreSQL is not installed: promotion is not tested")
	}
	dir, err := os.MkdirTemp("", "tacet-"+name+"-") // short, because a socket's path must be
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	c := &cluster{t: t, bin: filepath.Dir(found[len(found)-1]), dir: dir}
	if os.Geteuid() == 0 {
		// PostgreSQL refuses to run as root.
		c.user = []string{"runuser", "-u", "postgres", "--"}
		if out, err := exec.Command("chown", "postgres", dir).CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
	}
	return c
}

func (c *cluster) run(program string, args ...string) error {
	words := append(append([]string{}, c.user...), append([]string{filepath.Join(c.bin, program)}, args...)...)
	cmd := exec.Command(words[0], words[1:]...)
	cmd.Dir = "/"
	log, err := os.CreateTemp("", "tacet-pg-")
	if err != nil {
		return err
	}
	defer os.Remove(log.Name())
	defer log.Close()
	cmd.Stdout, cmd.Stderr = log, log // a file: a server that stays would keep a pipe open
	if err := cmd.Run(); err != nil {
		text, _ := os.ReadFile(log.Name())
		return fmt.Errorf("%s: %w: %s", program, err, text)
	}
	return nil
}

func (c *cluster) must(program string, args ...string) {
	c.t.Helper()
	if err := c.run(program, args...); err != nil {
		c.t.Fatal(err)
	}
}

func (c *cluster) data() string { return filepath.Join(c.dir, "data") }

func (c *cluster) start(also string) {
	c.t.Helper()
	c.must("pg_ctl", "-D", c.data(), "-w", "-l", filepath.Join(c.dir, "log"), "-o", "-c listen_addresses='' -c unix_socket_directories="+c.dir+" -c max_connections=100 "+also, "start")
	c.t.Cleanup(func() { _ = c.run("pg_ctl", "-D", c.data(), "-m", "immediate", "stop") }) // it may be gone already
}

// The primary of a pair with a streaming replica goes down at once under load, and the replica takes over: with synchronous commit nothing
// that a device was told is kept is lost, nothing is there twice, and the server goes on by itself.
func TestPromotedReplica(t *testing.T) {
	n := 1
	if s := os.Getenv("TACET_PROMOTIONS"); s != "" {
		var err error
		if n, err = strconv.Atoi(s); err != nil {
			t.Fatal(err)
		}
	} else if testing.Short() {
		t.Skip("short")
	}
	acked := 0
	var longest time.Duration
	for range n {
		k, pause := promoteOnce(t)
		acked += k
		longest = max(longest, pause)
	}
	t.Logf("%d promotions, %d entries confirmed, none lost, none twice; longest time without an answer %s", n, acked, longest.Round(10*time.Millisecond))
}

func promoteOnce(t *testing.T) (acked int, longest time.Duration) {
	t.Helper()
	one, two := newCluster(t, "a"), newCluster(t, "b")
	one.must("initdb", "-D", one.data(), "-U", "tacet", "-A", "trust", "-E", "UTF8", "--no-sync")
	one.start("-c synchronous_commit=on -c wal_level=replica")
	one.must("pg_basebackup", "-h", one.dir, "-U", "tacet", "-D", filepath.Join(one.dir, "copy"), "-R", "-X", "stream", "--no-sync")
	one.must("pg_ctl", "-D", one.data(), "-w", "-m", "fast", "stop")
	if err := os.Rename(filepath.Join(one.dir, "copy"), two.data()); err != nil {
		t.Fatal(err)
	}
	one.start("-c synchronous_commit=on -c synchronous_standby_names=*")
	two.start("-c hot_standby=on")

	folder := app.Folder{Dir: t.TempDir(), Database: fmt.Sprintf("host=%s,%s user=tacet dbname=postgres sslmode=disable target_session_attrs=read-write", one.dir, two.dir)}
	w := newWorld(t, folder)
	var mu sync.Mutex
	kept := map[string]string{} // entry to job
	stop := make(chan struct{})
	var devices sync.WaitGroup
	for i := range 4 {
		d := w.enrol(w.co, fmt.Sprintf("m.reed%d", i), jobs.Site)
		r := d.record()
		job := d.importJob(r)
		d.sync(r)
		devices.Go(func() {
			last := time.Now()
			for {
				select {
				case <-stop:
					return
				default:
				}
				es, err := r.Record(t.Context(), w.co.ID, d.author(), job, edges(`{"do":"note","text":"recorded under load"}`))
				if err != nil {
					t.Error(err)
					return
				}
				for {
					rep, err := r.Sync(t.Context(), d.http)
					if err == nil && rep.Waiting == 0 {
						break
					}
					if err != nil && !errors.Is(err, replica.ErrBusy) && !errors.Is(err, replica.ErrUnreachable) && !errors.Is(err, replica.ErrSlowDown) {
						t.Errorf("exchange: %v\n%s", err, errorsOf(w.log.String()))
						return
					}
					time.Sleep(20 * time.Millisecond) // as a device does, though sooner
				}
				mu.Lock()
				for _, e := range es {
					kept[e.ID] = job
				}
				longest = max(longest, time.Since(last))
				last = time.Now()
				mu.Unlock()
			}
		})
	}
	count := func() int { mu.Lock(); defer mu.Unlock(); return len(kept) }
	waitFor(t, "entries before the primary goes", func() bool { return count() >= 40 })
	if err := one.run("pg_ctl", "-D", one.data(), "-m", "immediate", "stop"); err != nil {
		t.Fatal(err)
	}
	two.must("pg_ctl", "-D", two.data(), "-w", "promote")
	before := count()
	waitFor(t, "entries after the promotion", func() bool { return count() >= before+40 })
	close(stop)
	devices.Wait()
	if strings.Contains(w.log.String(), `"msg":"panic"`) {
		t.Error("something broke inside")
	}
	has := map[string]int{}
	for _, job := range kept {
		if has[job] > 0 {
			continue
		}
		j, err := w.Replica.Job(t.Context(), w.co.ID, job)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range j.Records {
			has[r.ID]++
		}
		has[job] = 1
	}
	for id := range kept {
		if has[id] != 1 {
			t.Errorf("entry %s, which was confirmed, is there %d times", id, has[id])
		}
	}
	if _, err := w.Replica.VerifyLog(t.Context(), w.co.ID); err != nil {
		t.Error(err)
	}
	return len(kept), longest
}

// waitFor polls for something that other processes bring about.
func waitFor(t *testing.T, what string, is func() bool) {
	t.Helper()
	for deadline := time.Now().Add(60 * time.Second); !is(); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("waited a minute for %s", what)
		}
	}
}

// errorsOf are the lines of a log that say that something broke.
func errorsOf(log string) string {
	var list []string
	for line := range strings.Lines(log) {
		if strings.Contains(line, `"level":"ERROR"`) && strings.Contains(line, `500`) {
			list = append(list, line)
		}
	}
	return strings.Join(list, "")
}
