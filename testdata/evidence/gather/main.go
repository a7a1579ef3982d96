// Command gather keeps what a step of the checks came to in a file of evidence. It reads the output of "go test -json" on standard
// input, shows what failed and a line for each package, counts, and takes up the lines that tests log behind "evidence: ".
package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"slices"
	"strings"
	"time"
)

type run struct {
	Result  string  `json:"result"`
	Says    string  `json:"says"`
	Commit  string  `json:"commit"`
	Date    string  `json:"date"`
	Seconds int     `json:"seconds"`
	Counts  []count `json:"counts,omitempty"`
}

type count struct {
	Test string `json:"test"`
	Says string `json:"says"`
}

func main() {
	file := flag.String("into", "", "the file of evidence")
	step := flag.String("step", "", "the step's name")
	says := flag.String("says", "", "what a step without test output found")
	at := flag.String("commit", "", "the commit that was tried, if not the one that is checked out now")
	result := flag.String("result", "passed", "how a step without test output ended")
	seconds := flag.Int("seconds", 0, "how long a step without test output took")
	flag.Parse()
	failed, err := keep(*file, *step, run{Commit: *at, Result: *result, Says: *says, Seconds: *seconds}, os.Stdin)
	if err != nil {
		fmt.Fprintln(os.Stderr, "gather:", err)
		os.Exit(2)
	}
	if failed {
		os.Exit(1)
	}
}

// keep puts down what a step came to: as r says or, where r says nothing, as the test output does.
func keep(file, step string, r run, in io.Reader) (failed bool, err error) {
	if r.Says == "" {
		began := time.Now()
		t := tally{out: map[string][]string{}, counts: map[string]string{}}
		if err := t.read(in); err != nil {
			return false, err
		}
		r.Says = fmt.Sprintf("%d tests and parts of tests passed, %d failed, %d skipped, in %d packages", t.passed, t.failed, t.skipped, t.packages)
		r.Seconds = int(time.Since(began).Seconds())
		for _, name := range slices.Sorted(maps.Keys(t.counts)) {
			r.Counts = append(r.Counts, count{name, t.counts[name]})
		}
		if failed = t.failed > 0 || t.broken; failed {
			r.Result = "failed"
		}
		fmt.Println(r.Says)
	}
	if r.Commit == "" {
		if r.Commit, err = commit(); err != nil {
			return failed, err
		}
	}
	r.Date = time.Now().UTC().Format(time.RFC3339)
	return failed, put(file, step, r)
}

// tally is what test output adds up to.
type tally struct {
	passed, failed, skipped, packages int
	broken                            bool // a package that failed without a test
	out                               map[string][]string
	counts                            map[string]string
}

// event is a line of "go test -json".
type event struct {
	Action, Package, Test, Output string
}

func (t *tally) read(in io.Reader) error {
	lines := bufio.NewScanner(in)
	lines.Buffer(nil, 16<<20)
	for lines.Scan() {
		var e event
		if json.Unmarshal(lines.Bytes(), &e) != nil {
			fmt.Println(lines.Text()) // what the compiler says is no JSON
			continue
		}
		t.take(e)
	}
	return lines.Err()
}

func (t *tally) take(e event) {
	key := e.Package + " " + e.Test
	switch e.Action {
	case "output", "build-output":
		t.out[key] = append(t.out[key], e.Output)
		if _, found, ok := strings.Cut(e.Output, "evidence: "); ok {
			t.counts[e.Test] = strings.TrimSpace(found)
		}
		if e.Action == "build-output" {
			fmt.Print(e.Output)
		}
	case "pass", "fail", "skip":
		if e.Test == "" {
			t.closePackage(e, t.out[key])
		} else {
			t.closeTest(e, t.out[key])
		}
		delete(t.out, key)
	}
}

func (t *tally) closeTest(e event, out []string) {
	switch e.Action {
	case "pass":
		t.passed++
	case "skip":
		t.skipped++
		fmt.Print(strings.Join(out, ""))
	case "fail":
		t.failed++
		fmt.Print(strings.Join(out, ""))
	}
}

func (t *tally) closePackage(e event, out []string) {
	switch e.Action {
	case "pass":
		t.packages++
		if len(out) > 0 {
			fmt.Print(out[len(out)-1])
		}
	case "fail":
		t.packages++
		t.broken = true
		fmt.Print(strings.Join(out, ""))
	}
}

func commit() (string, error) {
	head, err := exec.Command("git", "rev-parse", "HEAD").Output()
	if err != nil {
		return "", fmt.Errorf("ask for the commit: %w", err)
	}
	changed, err := exec.Command("git", "status", "--porcelain", "--", "*.go", "*.sql", "*.js", "go.mod").Output()
	if err != nil {
		return "", fmt.Errorf("ask for changes: %w", err)
	}
	if len(changed) > 0 {
		return strings.TrimSpace(string(head)) + "+changes", nil
	}
	return strings.TrimSpace(string(head)), nil
}

// put keeps the newest result of each step.
func put(file, step string, r run) error {
	all := map[string]run{}
	data, err := os.ReadFile(file)
	if err == nil {
		err = json.Unmarshal(data, &all)
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("read %s: %w", file, err)
	}
	all[step] = r
	if data, err = json.MarshalIndent(all, "", " "); err != nil {
		return err
	}
	if err := os.WriteFile(file+".new", append(data, '\n'), 0o644); err != nil {
		return err
	}
	return os.Rename(file+".new", file)
}
