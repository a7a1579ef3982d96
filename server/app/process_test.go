package app_test

import (
	"bufio"
	"bytes"
	"errors"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"syscall"
	"testing"

	"tacet/server/app"
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
	says, stop := serving(t, env, args...)
	return says(), stop
}

// serving is serve with all that the server says, line by line.
func serving(t *testing.T, env []string, args ...string) (says func() string, stop func() int) {
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
	lines := bufio.NewReader(out)
	return func() string {
		t.Helper()
		line, err := lines.ReadString('\n')
		if err != nil {
			t.Fatalf("the server said nothing: %v; %s", err, talk.String())
		}
		return strings.TrimSpace(line)
	}, stop
}
