package e2e_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
)

// built is the folder of the compiled client, empty where no test needed it.
var built string

// build compiles the client once for all tests of the run.
var build = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "tacet-e2e-")
	if err != nil {
		return "", err
	}
	built = dir
	bin := filepath.Join(dir, "client")
	out, err := exec.Command("go", "build", "-o", bin, "tacet/client").CombinedOutput()
	if err != nil {
		return "", fmt.Errorf("build the client: %w\n%s", err, out)
	}
	return bin, nil
})

func TestMain(m *testing.M) {
	code := m.Run()
	if err := os.RemoveAll(built); err != nil {
		fmt.Fprintln(os.Stderr, err)
	}
	os.Exit(code)
}

// program is the client with a home of its own.
type program struct {
	t    *testing.T
	bin  string
	home string
}

func client(t *testing.T) program {
	t.Helper()
	if chromium() == "" {
		missing(t, "no Chromium here: the client's pages are not tried in a browser")
	}
	bin, err := build()
	if err != nil {
		t.Fatal(err)
	}
	return program{t, bin, filepath.Join(t.TempDir(), "home")}
}

func (p program) command(args ...string) *exec.Cmd {
	cmd := exec.Command(p.bin, args...)
	cmd.Env = append(os.Environ(), "TACET_HOME="+p.home)
	return cmd
}

// run is what a command prints.
func (p program) run(args ...string) string {
	p.t.Helper()
	var stderr bytes.Buffer
	cmd := p.command(args...)
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		p.t.Fatalf("client %s: %v\n%s", strings.Join(args, " "), err, stderr.String())
	}
	return strings.TrimSpace(string(out))
}

// pages starts the local pages and returns the address that the program prints.
func (p program) pages() string {
	p.t.Helper()
	cmd := p.command("open", "--listen", "127.0.0.1:0")
	out, err := cmd.StdoutPipe()
	if err != nil {
		p.t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		p.t.Fatal(err)
	}
	p.t.Cleanup(func() {
		if err := cmd.Process.Signal(os.Interrupt); err != nil {
			p.t.Errorf("stop the client: %v", err)
		}
		if err := cmd.Wait(); err != nil {
			p.t.Errorf("the client ended with %v", err)
		}
	})
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		p.t.Fatalf("the client printed no address: %v", err)
	}
	return strings.TrimSpace(line)
}

// jobState is the part of client job show --json that is looked at.
type jobState struct {
	Surfaces []struct {
		Code      string
		SheetCode string `json:"sheet_code"`
		Layers    []struct {
			N     int
			Share float64
		}
	}
}

func (p program) state(job string) (j jobState) {
	p.t.Helper()
	if err := json.Unmarshal([]byte(p.run("job", "show", job, "--json")), &j); err != nil {
		p.t.Fatal(err)
	}
	return j
}

func (p program) share(job, surface string, layer int) float64 {
	p.t.Helper()
	for _, s := range p.state(job).Surfaces {
		for _, l := range s.Layers {
			if s.Code == surface && l.N == layer {
				return l.Share
			}
		}
	}
	p.t.Fatalf("job %s has no layer %d of %s", job, layer, surface)
	return 0
}

// The real client: a job from a file, the address that it prints, a layer recorded in the browser, and the same record on the
// command line.
func TestTheClientsOwnPages(t *testing.T) {
	p := client(t)
	job := p.run("job", "import", filepath.Join("..", "..", "testdata", "demo", "lantern-row.json"))
	address, err := url.Parse(p.pages())
	if err != nil {
		t.Fatal(err)
	}
	// Who has not followed the address sees nothing.
	res, err := http.Get("http://" + address.Host + "/jobs/" + job)
	if err != nil {
		t.Fatal(err)
	}
	if err := res.Body.Close(); err != nil {
		t.Fatal(err)
	}
	if res.StatusCode != http.StatusUnauthorized {
		t.Errorf("without the address a job answers %d", res.StatusCode)
	}
	b := open(t)
	b.visit(address.String())
	if got := eval[string](b, `location.href`); got != "http://"+address.Host+"/" {
		t.Errorf("the key stays in sight: %s", got)
	}
	b.tap(`a[href="/jobs/` + job + `/s/X1"]`)
	b.tap("a.do")
	b.call("say who and show it", chromedp.SendKeys(chromedp.CSS("#f-note"), "Taped at the bends."), chromedp.SetUploadFiles(chromedp.CSS("#f-photos"), []string{picture(t)}))
	b.tap("button.do")
	if got := p.share(job, "X1", 1); got != 1 {
		t.Errorf("on the command line the layer is in place over %v", got)
	}
	if got := b.text("form.undo p"); !strings.Contains(got, "100 % in place") {
		t.Errorf("the page says %q", got)
	}
	b.tap("form.undo button")
	if got := p.share(job, "X1", 1); got != 0 {
		t.Errorf("taken back, and still in place over %v", got)
	}
	b.quiet(address.Host)
}

// A page of another site, open in the same browser, records nothing.
func TestAForeignPageRecordsNothing(t *testing.T) {
	p := client(t)
	job := p.run("job", "import", filepath.Join("..", "..", "testdata", "demo", "lantern-row.json"))
	address, err := url.Parse(p.pages())
	if err != nil {
		t.Fatal(err)
	}
	target := "http://" + address.Host + "/jobs/" + job + "/s/X1/1/install"
	foreign := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html")
		fmt.Fprintf(w, `<!DOCTYPE html><title>elsewhere</title><form method="post" action=%q><input name="share" value="100"></form>`+
			`<iframe src=%q></iframe>`, target, "http://"+address.Host+"/")
	}))
	t.Cleanup(foreign.Close)
	b := open(t)
	b.visit(address.String())
	b.visit(foreign.URL)
	if got := eval[bool](b, `(() => { try { return !!document.querySelector('iframe').contentDocument } catch { return false } })()`); got {
		t.Error("another site can look into the pages in a frame")
	}
	if _, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool](`document.querySelector('form').submit(); true`)); err != nil {
		t.Fatal(err)
	}
	b.call("wait for the refusal", chromedp.WaitVisible(chromedp.CSS("h1")))
	if got := p.share(job, "X1", 1); got != 0 {
		t.Errorf("a form of another site recorded %v of a layer", got)
	}
	if got := b.text("body"); strings.Contains(got, "Take it back") {
		t.Error("the foreign form was taken")
	}
}
