package app_test

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"tacet/server/app"
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
		lacking(t, "PostgreSQL is not installed: promotion is not tested")
	}
	dir, err := os.MkdirTemp("", "tacet-"+name+"-") // short, because a socket's path must be
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	c := &cluster{t: t, bin: filepath.Dir(found[len(found)-1]), dir: dir}
	if os.Geteuid() == 0 { // PostgreSQL refuses to run as root
		c.runAs("postgres")
	}
	return c
}

// runAs lets another user run the programs and own the folder.
func (c *cluster) runAs(name string) {
	c.t.Helper()
	other, err := user.Lookup(name)
	if err != nil {
		lacking(c.t, "there is no user "+name+" to run PostgreSQL as: promotion is not tested")
	}
	runuser, err := exec.LookPath("runuser")
	if err != nil {
		lacking(c.t, "runuser is not installed, and PostgreSQL refuses to run as root: promotion is not tested")
	}
	c.user = []string{runuser, "-u", name, "--"}
	uid, errUID := strconv.Atoi(other.Uid)
	gid, errGID := strconv.Atoi(other.Gid)
	if err := errors.Join(errUID, errGID, os.Chown(c.dir, uid, gid)); err != nil {
		c.t.Fatal(err)
	}
}

// lacking skips a test for want of something, and fails it where nothing may be skipped.
func lacking(t *testing.T, what string) {
	t.Helper()
	if os.Getenv("CI") == "true" {
		t.Fatal(what)
	}
	t.Skip(what)
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
	t.Logf("evidence: %d promotions, %d entries confirmed, none lost, none twice; longest time without an answer %s", n, acked, longest.Round(10*time.Millisecond))
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
	l := w.underLoad(4)
	waitFor(t, "entries before the primary goes", func() bool { return l.count() >= 40 })
	if err := one.run("pg_ctl", "-D", one.data(), "-m", "immediate", "stop"); err != nil {
		t.Fatal(err)
	}
	two.must("pg_ctl", "-D", two.data(), "-w", "promote")
	before := l.count()
	waitFor(t, "entries after the promotion", func() bool { return l.count() >= before+40 })
	return l.end()
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
