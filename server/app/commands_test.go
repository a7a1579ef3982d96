package app_test

import (
	"archive/zip"
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"image/color"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/app"
	"tacet/server/ops"
	"tacet/sync/replica"
	"tacet/sync/store"
	"tacet/sync/wire"
)

// TestMain lets this test binary be the server, so that its commands run as processes of their own with real exit codes.
func TestMain(m *testing.M) {
	if os.Getenv("TACET_TEST_AS_SERVER") == "1" {
		app.Main()
		return
	}
	os.Exit(m.Run())
}

func server(t *testing.T, env []string, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self, args...)
	cmd.Env = append([]string{"TACET_TEST_AS_SERVER=1", "HOME=" + t.TempDir(), "PATH=" + os.Getenv("PATH")}, env...)
	return cmd
}

// result is how a command ended.
type result struct {
	code      int
	out, talk string
}

// do runs a command in a data folder, given once before and once after the command's own words.
func do(t *testing.T, data, in string, args ...string) result {
	t.Helper()
	return doIn(t, []string{"TACET_DATA=" + data}, in, args...)
}

func doIn(t *testing.T, env []string, in string, args ...string) result {
	t.Helper()
	cmd := server(t, env, args...)
	cmd.Stdin = strings.NewReader(in)
	var out, talk bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &talk
	err := cmd.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	return result{cmd.ProcessState.ExitCode(), out.String(), talk.String()}
}

func (r result) want(t *testing.T, doing string, code int, out string) {
	t.Helper()
	ok, err := regexp.MatchString(`\A(?:`+out+`)\z`, r.out)
	if err != nil {
		t.Fatal(err)
	}
	if r.code != code || !ok {
		t.Errorf("%s: exit %d, output %q, said %q; want exit %d and output %s", doing, r.code, r.out, r.talk, code, out)
	}
	if code != 0 && (strings.TrimSpace(r.talk) == "" || strings.Contains(r.talk, "goroutine ")) {
		t.Errorf("%s: said %q", doing, r.talk)
	}
}

// serve starts a server as a process of its own and returns its address; stop ends it and gives its exit code.
func serve(t *testing.T, env []string, args ...string) (url string, stop func() int) {
	t.Helper()
	cmd := server(t, env, append([]string{"serve", "--listen", "127.0.0.1:0"}, args...)...)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	var talk bytes.Buffer
	cmd.Stderr = &talk
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	ended := false
	stop = func() int {
		if !ended {
			ended = true
			if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
				t.Error(err)
			}
			var exit *exec.ExitError
			if err := cmd.Wait(); err != nil && !errors.As(err, &exit) {
				t.Error(err)
			}
		}
		return cmd.ProcessState.ExitCode()
	}
	t.Cleanup(func() { stop() })
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatalf("the server said nothing: %v; %s", err, talk.String())
	}
	return strings.TrimSpace(line), stop
}

const (
	uuidLine = `[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}\n`
	codeLine = `[0-9A-HJKMNP-TV-Z]{4}(-[0-9A-HJKMNP-TV-Z]{4}){3}\n`
)

func TestCommandsBesideARunningServer(t *testing.T) {
	data := filepath.Join(t.TempDir(), "server")
	url, stop := serve(t, nil, "--data", data)
	if !regexp.MustCompile(`^http://127\.0\.0\.1:\d+$`).MatchString(url) {
		t.Errorf("the first line is %q", url)
	}
	co := do(t, data, "", "company", "add", "Quarrystone Interiors (invented)")
	co.want(t, "company add", 0, uuidLine)
	id := strings.TrimSpace(co.out)
	do(t, data, password+"\n", "user", "add", "--company", id, "--login", "m.reed", "--role", "site", "--password-stdin").want(t, "user add", 0, "")
	do(t, "/nowhere", password, "--data", data, "user", "add", "--company", id, "--login", "s.marsh", "--name", "S. Marsh", "--role", "supervisor", "--password-stdin").
		want(t, "user add, folder first, no line end", 0, "")
	do(t, "/nowhere", "", "enrol-code", "m.reed", "--data", data).want(t, "enrol-code, folder last", 0, codeLine)
	code := do(t, data, "", "enrol-code", "M.Reed", "--valid", "1h")
	code.want(t, "enrol-code", 0, codeLine)

	// The code and the server go together, and so do revoking and the server.
	w := &world{t: t, Running: &app.Running{URL: url}}
	d := &tablet{w: w, id: uuid.Must(uuid.NewV7()).String(), key: newKey(t)}
	d.join(strings.TrimSpace(code.out))
	if _, err := d.http.People(t.Context()); err != nil {
		t.Fatal(err)
	}
	list := do(t, data, "", "device", "list", "--json")
	list.want(t, "device list", 0, `(?s)\[.*\]\n`)
	var devices []struct{ ID, Login, State string }
	if err := json.Unmarshal([]byte(list.out), &devices); err != nil || len(devices) != 1 || devices[0].ID != d.id || devices[0].Login != "m.reed" || devices[0].State != "active" {
		t.Errorf("devices are %s, %v", list.out, err)
	}
	do(t, data, "", "revoke", d.id).want(t, "revoke", 0, "")
	if _, err := d.http.People(t.Context()); !errors.Is(err, replica.ErrRevoked) {
		t.Errorf("a revoked device gets %v", err)
	}
	do(t, data, "", "device", "list").want(t, "device list as text", 0, d.id+`  revoked  m\.reed +tablet, last seen [0-9T:-]+Z\n`)

	do(t, data, "", "healthcheck").want(t, "healthcheck", 0, "")
	do(t, data, "", "healthcheck", "--url", url).want(t, "healthcheck by address", 0, "")
	do(t, data, "", "verify").want(t, "verify", 0, "")
	do(t, data, "", "rebuild").want(t, "rebuild", 0, "")
	do(t, data, "", "doctor").want(t, "doctor", 0, `(?s)(ok   [^\n]+\n)+`)

	start := time.Now()
	if code := stop(); code != 0 {
		t.Errorf("the server ended with %d", code)
	}
	if took := time.Since(start); took > 10*time.Second { // the promise of a stop, not a measurement
		t.Errorf("stopping took %v", took)
	}
	do(t, data, "", "healthcheck").want(t, "healthcheck without a server", 5, "")
}

func TestWrongCommands(t *testing.T) {
	data := t.TempDir()
	id := strings.TrimSpace(do(t, data, "", "company", "add", "Quarrystone Interiors (invented)").out)
	add := func(in string, args ...string) result {
		return do(t, data, in, append([]string{"user", "add", "--company", id}, args...)...)
	}
	add(password, "--login", "m.reed", "--role", "site", "--password-stdin").want(t, "user add", 0, "")
	for _, c := range []struct {
		name string
		r    result
		code int
		says string
	}{
		{"nothing", do(t, data, ""), 2, "Usage: server <command>"},
		{"unknown command", do(t, data, "", "frobnicate"), 2, "frobnicate"},
		{"unknown flag", do(t, data, "", "serve", "--fast"), 2, "--fast"},
		{"company without a name", do(t, data, "", "company", "add"), 2, "name"},
		{"company with an empty name", do(t, data, "", "company", "add", " "), 2, "1 to 100 characters"},
		{"login twice", add(password, "--login", "M.REED", "--role", "office", "--password-stdin"), 2, "login"},
		{"no role", add(password, "--login", "x", "--password-stdin"), 2, "--role"},
		{"unknown role", add(password, "--login", "x", "--role", "king", "--password-stdin"), 2, "king"},
		{"password not on standard input", add(password, "--login", "x", "--role", "site"), 2, "--password-stdin"},
		{"short password", add("short\n", "--login", "x", "--role", "site", "--password-stdin"), 2, "12 to 128 characters"},
		{"no password", add("", "--login", "x", "--role", "site", "--password-stdin"), 2, "12 to 128 characters"},
		{"unknown company", do(t, data, password, "user", "add", "--company", "x", "--login", "x", "--role", "site", "--password-stdin"), 2, "company x"},
		{"code for nobody", do(t, data, "", "enrol-code", "nobody"), 2, "nobody"},
		{"code for a moment", do(t, data, "", "enrol-code", "m.reed", "--valid", "1s"), 2, "1 minute to 7 days"},
		{"revoke nothing", do(t, data, "", "revoke", "nothing"), 2, "nothing"},
		{"one half of a key pair", do(t, data, "", "serve", "--tls-cert", "x"), 2, "--tls-key"},
		{"no key pair", do(t, data, "", "serve", "--tls-cert", "/nowhere", "--tls-key", "/nowhere"), 2, "--tls-cert"},
		{"no such address", do(t, data, "", "serve", "--listen", "256.0.0.1:1"), 1, "listen"},
		{"data is a file", do(t, filepath.Join(data, "tacet.db"), "", "company", "add", "x"), 1, "folder"},
		{"data of nobody", do(t, filepath.Join(data, "typo"), "", "device", "list"), 2, "no server's data"},
		{"backup of nothing", do(t, filepath.Join(data, "typo"), "", "backup", filepath.Join(data, "b.zip")), 2, "no server's data"},
		{"no database", do(t, data, "", "--database", "postgres://nobody@127.0.0.1:1/x?connect_timeout=1", "device", "list"), 1, "database"},
		{"health of nothing", do(t, t.TempDir(), "", "healthcheck"), 5, "no server"},
		{"health of no address", do(t, data, "", "healthcheck", "--url", "x"), 2, "url"},
		{"backup over a file", do(t, data, "", "backup", filepath.Join(data, "tacet.db")), 2, "exists"},
		{"backup of PostgreSQL", do(t, data, "", "--database", "postgres://x", "backup", "x.zip"), 2, "its own tools"},
	} {
		c.r.want(t, c.name, c.code, "")
		if !strings.Contains(c.r.talk, c.says) {
			t.Errorf("%s: said %q, want %q in it", c.name, c.r.talk, c.says)
		}
		if c.name != "nothing" && strings.Count(strings.TrimSpace(c.r.talk), "\n") > 0 {
			t.Errorf("%s: said more than one line: %q", c.name, c.r.talk)
		}
	}
	if _, err := os.Stat(filepath.Join(data, "typo")); err == nil {
		t.Error("a command on a folder that is not there made it")
	}
	do(t, data, "", "--help").want(t, "help", 0, `(?s)Usage: server <command>.*`)
	do(t, data, "", "device", "list", "--json").want(t, "no devices", 0, `\[\]\n`)
}

func TestServeOverTLS(t *testing.T) {
	dir := t.TempDir()
	cert, key := selfSigned(t, dir)
	url, _ := serve(t, nil, "--data", filepath.Join(dir, "data"), "--tls-cert", cert, "--tls-key", key)
	if !strings.HasPrefix(url, "https://127.0.0.1:") {
		t.Errorf("address %s", url)
	}
	do(t, filepath.Join(dir, "data"), "", "healthcheck").want(t, "healthcheck over TLS", 0, "")
	conn, err := net.Dial("tcp", strings.TrimPrefix(url, "https://"))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if _, err := io.WriteString(conn, "GET /v1/hello HTTP/1.1\r\nHost: x\r\n\r\n"); err != nil {
		t.Fatal(err)
	}
	answer := make([]byte, 64)
	n, err := conn.Read(answer)
	if strings.HasPrefix(string(answer[:n]), "HTTP/1.1 200") {
		t.Errorf("plain HTTP got %q, %v", answer[:n], err)
	}
}

// A backup made while a server takes entries opens as a server that holds all that was confirmed before.
func TestBackupBesideARunningServer(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	d := w.enrol(w.co, "m.reed", jobs.Site)
	r := d.record()
	job := d.importJob(r)
	sha, err := d.blobs.Put(t.Context(), w.co.ID, picture(t, color.Gray{50}))
	if err != nil {
		t.Fatal(err)
	}
	d.do(r, job, `{"do":"photo","surface":"C1","file":"`+sha.String()+`"}`)
	d.sync(r)
	want, err := w.Replica.Job(t.Context(), w.co.ID, job)
	if err != nil {
		t.Fatal(err)
	}

	file := filepath.Join(t.TempDir(), "backup.zip")
	do(t, w.folder.Dir, "", "backup", file).want(t, "backup", 0, "")
	info, err := os.Stat(file)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the backup is %v, %v", info, err)
	}
	dir := unpack(t, file)
	if _, err := os.Stat(filepath.Join(dir, "keys")); err == nil {
		t.Error("the backup holds keys without being told to")
	}
	st, err := store.Open(t.Context(), filepath.Join(dir, "tacet.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	if blob, err := os.ReadFile(photoFile(t, dir, w.co.ID, sha)); err != nil || jobs.HashBlob(blob) != sha {
		t.Errorf("the photo in the backup: %v", err)
	}
	db, err := st.DB().DB()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := ops.ReadPeopleKeys(t.Context(), db, filepath.Join(filepath.Dir(file), ops.PeopleKeys)); err != nil {
		t.Fatal(err)
	}
	copied := replica.New(replica.Config{Store: st, Device: w.keys.Server, Key: w.keys.Record, Now: time.Now})
	got, err := copied.Job(t.Context(), w.co.ID, job)
	if err != nil {
		t.Fatal(err)
	}
	if export(t, got) != export(t, want) {
		t.Error("the backup holds another job")
	}
	if _, err := copied.VerifyLog(t.Context(), w.co.ID); err != nil {
		t.Error(err)
	}

	file = filepath.Join(t.TempDir(), "with-keys.zip")
	do(t, w.folder.Dir, "", "backup", "--with-keys", file).want(t, "backup with keys", 0, "")
	if _, err := accounts.LoadKeys(filepath.Join(unpack(t, file), "keys")); err != nil {
		t.Errorf("the keys in the backup: %v", err)
	}
}

// unpack checks a backup against its manifest and unpacks it.
func unpack(t *testing.T, file string) string {
	t.Helper()
	z, err := zip.OpenReader(file)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	dir := t.TempDir()
	var m ops.Manifest
	sums := map[string]ops.File{}
	for _, f := range z.File {
		part, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(part)
		if err != nil {
			t.Fatal(err)
		}
		if f.Name == "manifest.json" {
			if err := json.Unmarshal(data, &m); err != nil {
				t.Fatal(err)
			}
			continue
		}
		sum := sha256.Sum256(data)
		sums[f.Name] = ops.File{Size: int64(len(data)), SHA256: hex.EncodeToString(sum[:])}
		path := filepath.Join(dir, filepath.FromSlash(f.Name))
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if len(m.Files) != len(sums) || m.Format != 1 {
		t.Fatalf("the manifest lists %d files, the backup holds %d", len(m.Files), len(sums))
	}
	for name, f := range sums {
		if m.Files[name] != f {
			t.Errorf("%s is not what the manifest says", name)
		}
	}
	return dir
}

func photoFile(t *testing.T, dir, co string, sha jobs.Hash) string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(dir, "photos", co, "*", hex.EncodeToString(sha[:])+".*"))
	if err != nil || len(found) != 1 {
		t.Fatalf("photos found: %v, %v", found, err)
	}
	return found[0]
}

func TestVerifyFindsAChange(t *testing.T) {
	w := newWorld(t, tempFolder(t))
	d := w.enrol(w.co, "m.reed", jobs.Site)
	r := d.record()
	job := d.importJob(r)
	d.do(r, job, `{"do":"install","surface":"C1","layer":1,"share":1,"mass_kg_m2":12.6}`)
	d.sync(r)
	do(t, w.folder.Dir, "", "verify").want(t, "verify", 0, "")
	if err := w.Tamper(); err != nil {
		t.Fatal(err)
	}
	bad := do(t, w.folder.Dir, "", "verify")
	bad.want(t, "verify after a change", 1, "")
	if !strings.Contains(bad.talk, "changed") {
		t.Errorf("said %q", bad.talk)
	}
}

// join enrols the tablet with a code, over HTTP.
func (d *tablet) join(code string) {
	d.w.t.Helper()
	open, err := wire.NewHTTP(d.w.URL, "", nil)
	if err != nil {
		d.w.t.Fatal(err)
	}
	d.answer, err = open.Enrol(d.w.t.Context(), wire.EnrolRequest{Code: code, Device: d.id, PublicKey: publicKey(d.key), Name: "tablet", Key: d.key})
	if err != nil {
		d.w.t.Fatal(err)
	}
	d.moveTo(d.w)
}

// moveTo has the tablet talk to a server from here on.
func (d *tablet) moveTo(w *world) {
	d.w.t.Helper()
	var err error
	if d.http, err = wire.NewHTTP(w.URL, wire.KeyID(d.answer.ServerKey), d.token); err != nil {
		d.w.t.Fatal(err)
	}
}
