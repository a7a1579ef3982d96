package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"tacet/server/app"
)

// TestMain makes this binary both programs: a script that says "client" or "server" starts it anew as that program, a
// process of its own with a real exit code.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"client": main, "server": app.Main})
}

// TestScripts runs the stories of testdata/scripts, each in a folder of its own.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                filepath.Join("..", "testdata", "scripts"),
		RequireUniqueNames: true,
		Setup: func(e *testscript.Env) error {
			demo, err := filepath.Abs(filepath.Join("..", "testdata", "demo"))
			if err != nil {
				return err
			}
			e.Setenv("DEMO", demo)
			e.Setenv("HOME", e.WorkDir)
			e.Setenv("TACET_HOME", filepath.Join(e.WorkDir, "home"))
			e.Setenv("TACET_DATA", filepath.Join(e.WorkDir, "data"))
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits":    exits,
			"env-from": envFrom,
			"field":    field,
			"serve":    serve,
			"stop":     stop,
			"bigfile":  bigFile,
			"crash":    crash,
			"ruling":   ruling,
			"picture":  picture,
		},
	})
}

// exits N PROGRAM ARGS… runs a program and wants that exit code, and never a stack trace.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits N program [args...]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	var ended *exec.ExitError
	if errors.As(err, &ended) {
		got = ended.ExitCode()
	} else {
		ts.Check(err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
	said := ts.ReadFile("stderr")
	if strings.Contains(said, "goroutine ") || strings.Contains(said, "panic") {
		ts.Fatalf("a stack trace reached the user")
	}
	complaints := strings.Count("\n"+said, "\n"+args[1]+": ")
	if len(args) > 2 && (want != 0 && want != 3) != (complaints == 1) || complaints > 1 {
		ts.Fatalf("%d lines say what went wrong, want one for a failure and none else", complaints)
	}
}

// env-from NAME FILE sets a variable to the text of a file (stdout for the last output), without the line's end.
func envFrom(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: env-from NAME file")
	}
	ts.Setenv(args[0], strings.TrimSpace(ts.ReadFile(args[1])))
}

// field FILE PATH WANT looks up a value in JSON: field stdout surfaces.C1.layers.3.state covered. A step into a list is
// an index from 0, or the value of an element's code, n, id or login.
func field(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 3 {
		ts.Fatalf("usage: [!] field file path want")
	}
	dec := json.NewDecoder(strings.NewReader(ts.ReadFile(args[0])))
	dec.UseNumber()
	var v any
	ts.Check(dec.Decode(&v))
	got := "missing"
	if found, ok := lookUp(v, strings.Split(args[1], ".")); ok {
		got = text(found)
	}
	if (got == args[2]) == neg {
		ts.Fatalf("%s is %s, want %s", args[1], got, args[2])
	}
}

func lookUp(v any, path []string) (any, bool) {
	if len(path) == 0 || path[0] == "" {
		return v, true
	}
	switch v := v.(type) {
	case map[string]any:
		next, ok := v[path[0]]
		if !ok {
			return nil, false
		}
		return lookUp(next, path[1:])
	case []any:
		if path[0] == "len" {
			return json.Number(strconv.Itoa(len(v))), true
		}
		for _, e := range v {
			m, _ := e.(map[string]any)
			for _, key := range []string{"code", "n", "id", "login", "layer"} {
				if k, ok := m[key]; ok && text(k) == path[0] {
					return lookUp(e, path[1:])
				}
			}
		}
		if i, err := strconv.Atoi(path[0]); err == nil && i < len(v) {
			return lookUp(v[i], path[1:])
		}
	}
	return nil, false
}

func text(v any) string {
	if s, ok := v.(string); ok {
		return s
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return err.Error()
	}
	return strings.TrimSpace(b.String())
}

// running holds the background programs of all scripts, by script and name.
var running sync.Map

type background struct {
	cmd *exec.Cmd
	out *os.File
}

// serve NAME PROGRAM ARGS… starts a program, waits for its first line of output and puts that line into the variable
// NAME. The script's end stops it.
func serve(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: serve NAME program [args...]")
	}
	out, err := os.CreateTemp(ts.Getenv("WORK"), "serve-*.out")
	ts.Check(err)
	program, err := exec.LookPath(args[1])
	ts.Check(err)
	cmd := exec.Command(program, args[2:]...)
	cmd.Dir = ts.Getenv("WORK")
	cmd.Env = append(os.Environ(), "HOME="+ts.Getenv("HOME"), "TACET_HOME="+ts.Getenv("TACET_HOME"), "TACET_DATA="+ts.Getenv("TACET_DATA"))
	cmd.Stdout, cmd.Stderr = out, ts.Stderr()
	ts.Check(cmd.Start())
	b := &background{cmd: cmd, out: out}
	ts.Defer(func() { b.end() })
	running.Store(ts.Name()+" "+args[0], b)
	for range 300 {
		data, err := os.ReadFile(out.Name())
		ts.Check(err)
		if line, _, ok := strings.Cut(string(data), "\n"); ok {
			ts.Setenv(args[0], line)
			return
		}
		time.Sleep(50 * time.Millisecond) // another process: nothing to wait on but its output
	}
	ts.Fatalf("%s printed no first line within 15 s", args[1])
}

// stop NAME ends a program that serve started, as a person would, and wants exit code 0.
func stop(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: stop NAME")
	}
	b, ok := running.Load(ts.Name() + " " + args[0])
	if !ok {
		ts.Fatalf("nothing called %s was started", args[0])
	}
	if err := b.(*background).end(); err != nil {
		ts.Fatalf("%s ended with %v", args[0], err)
	}
}

// end asks the program to stop and waits for it.
func (b *background) end() error {
	if b.cmd.ProcessState != nil {
		return nil
	}
	if err := b.cmd.Process.Signal(os.Interrupt); err != nil {
		return err
	}
	err := b.cmd.Wait()
	return errors.Join(err, b.out.Close())
}

// bigfile NAME BYTES makes a file of that size.
func bigFile(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: bigfile name bytes")
	}
	size, err := strconv.ParseInt(args[1], 10, 64)
	ts.Check(err)
	f, err := os.Create(ts.MkAbs(args[0]))
	ts.Check(err)
	// it begins as a JPEG does, so that only its size can be what is wrong
	_, err = f.Write([]byte{0xff, 0xd8, 0xff, 0xe0})
	ts.Check(errors.Join(err, f.Truncate(size), f.Close()))
}

// ruling CONFLICTS writes ruling.json, which settles the first conflict of that list in favour of what failed.
func ruling(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: ruling conflicts.json")
	}
	var list []conflict
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &list))
	var on []string
	keeps := ""
	for _, h := range list[0].Heads {
		on = append(on, h.ID)
		if strings.Contains(h.Says, "fail") {
			keeps = h.ID
		}
	}
	data, err := json.Marshal(map[string]any{"do": "ruling", "on": on, "keeps": keeps, "reason": "seen by the supervisor"})
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs("ruling.json"), data, 0o600))
}

// picture NAME draws a picture.
func picture(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: picture name.png")
	}
	img := image.NewGray(image.Rect(0, 0, 320, 240))
	for i := range img.Pix {
		img.Pix[i] = byte(i * 7)
	}
	var b bytes.Buffer
	ts.Check(png.Encode(&b, img))
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), b.Bytes(), 0o600))
}

// crash JOB N starts N recordings one after the other, kills each at a later moment than the one before with no chance
// to clean up, and wants every id that was printed in the history afterwards.
func crash(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: crash job n")
	}
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	program, err := exec.LookPath("client")
	ts.Check(err)
	env := append(os.Environ(), "HOME="+ts.Getenv("HOME"), "TACET_HOME="+ts.Getenv("TACET_HOME"))
	var printed []string
	cut := 0
	for i := range n {
		cmd := exec.Command(program, "record", args[0], "--file", "-")
		cmd.Env = env
		cmd.Stdin = strings.NewReader(fmt.Sprintf(`[{"do":"note","text":"kill %d a"},{"do":"note","text":"kill %d b"}]`, i, i))
		var out bytes.Buffer
		cmd.Stdout = &out
		ts.Check(cmd.Start())
		timer := time.AfterFunc(time.Duration(i)*8*time.Millisecond, func() { _ = cmd.Process.Kill() }) // it may have ended by itself
		if err := cmd.Wait(); err != nil {
			cut++
		}
		timer.Stop()
		printed = append(printed, strings.Fields(out.String())...)
	}
	if cut == 0 || cut == n {
		ts.Logf("of %d recordings %d were killed: the moments do not spread over the run", n, cut)
	}
	ts.Check(ts.Exec("client", "job", "history", args[0], "--json"))
	history := ts.ReadFile("stdout")
	for _, id := range printed {
		if !strings.Contains(history, `"`+id+`"`) {
			ts.Fatalf("%s was printed and is not in the history", id)
		}
	}
	notes := strings.Count(history, `"kind":"note"`) + strings.Count(history, `"kind": "note"`)
	if notes%2 != 0 {
		ts.Fatalf("%d notes: a batch of two was taken by half", notes)
	}
	if notes < len(printed) {
		ts.Fatalf("%d notes for %d printed ids", notes, len(printed))
	}
	ts.Logf("%d recordings, %d killed, %d ids printed, %d notes kept", n, cut, len(printed), notes)
}
