package app_test

import (
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"
)

func readTop(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "..", name))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// The health commands of the compose file and of the image are tried on real programs.
func TestHealthCommandsWork(t *testing.T) {
	compose := readTop(t, "docker-compose.yml")
	var server, database []string
	for _, m := range regexp.MustCompile(`(?m)^\s+test: (\[.*\])$`).FindAllStringSubmatch(compose, -1) {
		var words []string
		if err := json.Unmarshal([]byte(m[1]), &words); err != nil || words[0] != "CMD" {
			t.Fatalf("health command %s: %v", m[1], err)
		}
		if words[1] == "/server" {
			server = words[2:]
		} else {
			database = words[1:]
		}
	}
	if server == nil || database == nil {
		t.Fatalf("health commands found: %q and %q", server, database)
	}
	image := regexp.MustCompile(`HEALTHCHECK .* CMD (\[.*\])`).FindStringSubmatch(readTop(t, "server/Dockerfile"))
	if image == nil || image[1] != `["/server", "healthcheck"]` {
		t.Errorf("the image's health command is %q", image)
	}
	url, stop := serve(t, nil, "--data", t.TempDir())
	env := []string{"TACET_DATA=" + t.TempDir(), "TACET_HEALTH_URL=" + url}
	doIn(t, env, "", server...).want(t, "health of a server that serves", 0, "")
	stop()
	if r := doIn(t, env, "", server...); r.code == 0 {
		t.Error("a server that does not serve is healthy")
	}

	ready, err := exec.LookPath(database[0])
	if err != nil {
		t.Skipf("%s is not installed: the health command of the database is not tried", database[0])
	}
	// Nobody listens there: what counts is that the command's words are understood (3 would mean they are not).
	cmd := exec.Command(ready, append(database[1:], "--host=127.0.0.1", "--port=1", "--timeout=1")...)
	if err := cmd.Run(); cmd.ProcessState == nil || cmd.ProcessState.ExitCode() != 2 {
		t.Errorf("%q ended with %v, want 2: no answer", database, err)
	}
}

// Every variable that the compose file and the image set is one that the server reads.
func TestVariablesOfTheContainersAreRead(t *testing.T) {
	texts := readTop(t, "docker-compose.yml") + readTop(t, "server/Dockerfile")
	known := do(t, t.TempDir(), "", "serve", "--help").out + do(t, t.TempDir(), "", "healthcheck", "--help").out
	found := map[string]bool{}
	for _, m := range regexp.MustCompile(`\b(TACET_[A-Z_]+)(?:: |=)`).FindAllStringSubmatch(texts, -1) {
		found[m[1]] = true
	}
	delete(found, "TACET_POSTGRES_PASSWORD") // asked of whoever starts the containers; the server reads PGPASSWORD
	if len(found) < 5 {
		t.Errorf("only found %v", found)
	}
	for name := range found {
		if !strings.Contains(known, "$"+name) {
			t.Errorf("the server does not read %s", name)
		}
	}
}

func TestComposeHoldsNoSecretAndKeepsData(t *testing.T) {
	compose := readTop(t, "docker-compose.yml")
	for _, m := range regexp.MustCompile(`(?m)^\s+\w*PASSWORD\w*: (.*)$`).FindAllStringSubmatch(compose, -1) {
		if !strings.HasPrefix(m[1], "${TACET_POSTGRES_PASSWORD:?") {
			t.Errorf("a password stands in the file, or has a default: %s", m[1])
		}
	}
	for _, want := range []string{"image: postgres:15", "condition: service_healthy", "- data:/data", "- postgres:/var/lib/postgresql/data",
		"dockerfile: server/Dockerfile", "read_only: true", "cap_drop: [ALL]", "no-new-privileges:true", "CREATE ROLE tacet LOGIN PASSWORD", "  server-1:\n    <<: *server", "  server-2:\n    <<: *server"} {
		if !strings.Contains(compose, want) {
			t.Errorf("the compose file lacks %q", want)
		}
	}
	image := readTop(t, "server/Dockerfile")
	if !strings.Contains(image, "\nUSER 65532:65532\n") || !strings.Contains(image, "\nFROM scratch\n") {
		t.Error("the image holds more than the program, or runs as root")
	}
	if strings.Contains(compose, "\t") {
		t.Error("YAML knows no tabs")
	}
}

// The image's own build command makes a program that runs by itself.
func TestBuildOfTheImage(t *testing.T) {
	if os.Getenv("CI") != "true" {
		t.Skip("CI is not true: the image's build, which takes a minute, is not tried")
	}
	m := regexp.MustCompile(`RUN (CGO_ENABLED=0) go (build [^&]*?)-o /out/server (\./server)`).FindStringSubmatch(readTop(t, "server/Dockerfile"))
	if m == nil {
		t.Fatal("the image builds the server in another way than this test knows")
	}
	program := filepath.Join(t.TempDir(), "server")
	args := append(strings.Fields(strings.ReplaceAll(m[2], `"`, "'")), "-o", program, m[3])
	for i, a := range args {
		if a == "-ldflags='-s" {
			args = append(args[:i], append([]string{"-ldflags=-s -w"}, args[i+2:]...)...)
			break
		}
	}
	cmd := exec.Command("go", args...)
	cmd.Dir = filepath.Join("..", "..")
	cmd.Env = append(os.Environ(), m[1])
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("go %q: %v\n%s", args, err, out)
	}
	if out, err := exec.Command(program, "--help").CombinedOutput(); err != nil || !strings.Contains(string(out), "Usage: server") {
		t.Errorf("the program: %v\n%s", err, out)
	}
	inTheImage(t, program)
}

// inTheImage runs the program where it has what the image gives it and nothing else: a root of its own with no shell, no library and no
// zones, nobody's user, and only /data and /tmp to write to. It serves, its health command says so, and it ends when it is told to.
func inTheImage(t *testing.T, program string) {
	if os.Getuid() != 0 {
		t.Skip("not root: the program is not tried in a root of its own")
	}
	root := t.TempDir()
	if err := os.Rename(program, filepath.Join(root, "server")); err != nil {
		t.Fatal(err)
	}
	for dir, mode := range map[string]os.FileMode{"data": 0o700, "tmp": 0o777} {
		if err := os.Mkdir(filepath.Join(root, dir), mode); err != nil {
			t.Fatal(err)
		}
	}
	const nobody = 65532
	if err := errors.Join(os.Chown(filepath.Join(root, "data"), nobody, nobody), os.Chmod(filepath.Join(root, "tmp"), 0o777), os.Chmod(root, 0o555)); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.Chmod(root, 0o755) })
	image := readTop(t, "server/Dockerfile")
	env := strings.Fields(regexp.MustCompile(`(?m)^ENV (.*)$`).FindStringSubmatch(image)[1])
	for i := range env {
		env[i] = strings.ReplaceAll(strings.ReplaceAll(env[i], "0.0.0.0:7410", "127.0.0.1:17410"), "127.0.0.1:7410", "127.0.0.1:17410") // a port of the test's own, on this machine alone
	}
	command := func(args ...string) *exec.Cmd {
		cmd := exec.Command("/server", args...)
		cmd.Dir, cmd.Env = "/", env
		cmd.SysProcAttr = &syscall.SysProcAttr{Chroot: root, Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
		return cmd
	}
	var says strings.Builder
	server := command("serve")
	server.Stdout, server.Stderr = &says, &says
	if err := server.Start(); err != nil {
		t.Fatal(err)
	}
	healthy := false
	for range 100 {
		if command("healthcheck").Run() == nil {
			healthy = true
			break
		}
		time.Sleep(100 * time.Millisecond)
	}
	if err := server.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := server.Wait(); err != nil || !healthy {
		t.Errorf("healthy: %v; it ended with %v\n%s", healthy, err, says.String())
	}
	if out, err := command("doctor").CombinedOutput(); err != nil && !strings.Contains(string(out), "company") {
		t.Errorf("doctor: %v\n%s", err, out)
	}
	list, err := os.ReadDir(root)
	if err != nil || len(list) != 3 {
		t.Errorf("the root now holds %v, %v", list, err)
	}
	if command("healthcheck").Run() == nil {
		t.Error("a server that ended is healthy")
	}
}
