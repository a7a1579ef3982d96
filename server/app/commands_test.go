package app_test

import (
	"encoding/json"
	"errors"
	"io"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"tacet/server/app"
	"tacet/sync/replica"
)

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
