package app_test

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

// BenchmarkGrowth measures what happens as the record grows, at the sizes that TACET_ENTRIES lists: the exchange and its floors, as
// BenchmarkWholeExchange; the list of jobs; a fold of everything; and, with the programs as they are built, the start of a server to its first
// page and to the page that has read all jobs, and the memory of both. The last line has the exponents of
// growth over all sizes: 1 is time in proportion.
func BenchmarkGrowth(b *testing.B) {
	sizes := entrySizes(b, "1000,10000")
	bin := buildPrograms(b)
	grown := map[string][]float64{} // processor time of this process, or seconds of another
	for _, n := range sizes {
		b.Run(strconv.Itoa(n), func(b *testing.B) {
			for range b.N {
				for what, took := range growTo(b, bin, n) {
					grown[what] = append(grown[what], took)
				}
			}
		})
	}
	if len(sizes) < 2 {
		return
	}
	b.Run("exponents", func(b *testing.B) {
		for what, took := range grown {
			if len(took) == len(sizes) { // more turns would mix the sizes
				b.ReportMetric(exponent(sizes, took), what)
			}
		}
		b.ReportMetric(0, "ns/op")
	})
}

// exponent is the slope of the line of least squares through the logarithms.
func exponent(sizes []int, took []float64) float64 {
	var sx, sy, sxx, sxy float64
	for i, n := range sizes {
		x, y := math.Log(float64(n)), math.Log(took[i])
		sx, sy, sxx, sxy = sx+x, sy+y, sxx+x*x, sxy+x*y
	}
	n := float64(len(sizes))
	return (n*sxy - sx*sy) / (n*sxx - sx*sx)
}

func growTo(b *testing.B, bin string, n int) map[string]float64 {
	f := fill(b, n)
	grown := map[string]float64{"push": f.push.cpu.Seconds(), "pull": f.pull.cpu.Seconds()}
	list := func() error {
		rows, err := f.to.replica.Jobs(b.Context(), f.to.co)
		if err == nil && len(rows) < n/200 {
			err = fmt.Errorf("%d jobs", len(rows))
		}
		return err
	}
	grown["fold"] = timed(b, list).cpu.Seconds() // the first list of a device reads every job that came
	again := timed(b, func() (err error) {
		for range 10 {
			if err == nil {
				err = list()
			}
		}
		return err
	})
	grown["list"] = again.cpu.Seconds() / 10
	b.ReportMetric(float64(again.wall.Microseconds())/10000, "ms-list")
	b.ReportMetric(1000*grown["fold"]/float64((n+199)/200), "ms-fold/job")
	code, err := f.server.Accounts.EnrolCode(b.Context(), "two", time.Hour)
	if err != nil {
		b.Fatal(err)
	}
	if err := f.server.Stop(); err != nil {
		b.Fatal(err)
	}
	f.report(b)
	grown["floor"] = bareInserts(b, filepath.Join(f.folder.Dir, "tacet.db"), "entry", "log", "entry_key").cpu.Seconds()
	s := startProgram(b, bin, f.folder.Dir)
	b.ReportMetric(ms(s.restart), "ms-first-list-ever") // of a server that nobody asked before
	s.stop()
	s = startProgram(b, bin, f.folder.Dir)
	grown["restart"] = s.restart.Seconds()
	b.ReportMetric(ms(s.first), "ms-start-to-first-page")
	b.ReportMetric(ms(s.restart), "ms-start-to-all-jobs")
	home := filepath.Join(b.TempDir(), "home")
	runClient(b, bin, home, "enrol", s.url, "--code", code)
	pulled, size := runClient(b, bin, home, "sync", "--once")
	grown["program-pull"] = pulled.Seconds()
	b.ReportMetric(size, "MB-client-sync")
	listed, size := runClient(b, bin, home, "job", "list")
	b.ReportMetric(size, "MB-client-list")
	b.ReportMetric(ms(listed), "ms-client-list")
	b.ReportMetric(s.memory(b, "VmRSS"), "MB-server")
	b.ReportMetric(s.memory(b, "VmHWM"), "MB-server-peak")
	s.stop()
	return grown
}

func buildPrograms(b *testing.B) string {
	b.Helper()
	dir := b.TempDir()
	for _, name := range []string{"client", "server"} {
		if out, err := exec.Command("go", "build", "-o", filepath.Join(dir, name), "tacet/"+name).CombinedOutput(); err != nil {
			b.Fatalf("%v: %s", err, out)
		}
	}
	return dir
}

// program is a server in a process of its own.
type program struct {
	url            string
	first, restart time.Duration // from the start of the process to the sign-in page, and to the page of all jobs
	pid            int
	stop           func()
}

func startProgram(b *testing.B, bin, data string) *program {
	b.Helper()
	cmd := exec.Command(filepath.Join(bin, "server"), "serve", "--listen", "127.0.0.1:0")
	cmd.Env = append(os.Environ(), "TACET_DATA="+data)
	var said bytes.Buffer
	cmd.Stderr = &said
	out, err := cmd.StdoutPipe()
	if err != nil {
		b.Fatal(err)
	}
	began := time.Now()
	if err := cmd.Start(); err != nil {
		b.Fatal(err)
	}
	stopped := false
	p := &program{pid: cmd.Process.Pid, stop: func() {
		if stopped {
			return
		}
		stopped = true
		_ = cmd.Process.Signal(syscall.SIGTERM)
		if err := cmd.Wait(); err != nil {
			b.Errorf("the server ended with %v: %s", err, said.String())
		}
	}}
	b.Cleanup(p.stop)
	lines := bufio.NewReader(out)
	line, err := lines.ReadString('\n')
	if err != nil {
		b.Fatalf("the server printed no address: %v: %s", err, said.String())
	}
	go func() { _, _ = io.Copy(io.Discard, lines) }()
	p.url = strings.TrimSpace(line)
	res, err := http.Get(p.url + "/sign-in")
	if err != nil {
		b.Fatal(err)
	}
	_, err = io.Copy(io.Discard, res.Body)
	res.Body.Close()
	if err != nil || res.StatusCode != http.StatusOK {
		b.Fatalf("sign-in page: %s, %v", res.Status, err)
	}
	p.first = time.Since(began)
	w := &firmBench{url: p.url, cookie: signIn(b, p.url, "two")}
	w.get(b, "/")
	p.restart = time.Since(began)
	return p
}

// memory is a figure of the process in MB, as Linux tells it.
func (p *program) memory(b *testing.B, what string) float64 {
	b.Helper()
	mb := memoryOf(p.pid, what)
	if mb == 0 {
		b.Log("this system does not tell the memory of a process")
	}
	return mb
}

// memoryOf is 0 where it is not known.
func memoryOf(pid int, what string) float64 {
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0
	}
	_, rest, _ := strings.Cut(string(status), what+":")
	var kB float64
	if _, err := fmt.Sscan(rest, &kB); err != nil {
		return 0
	}
	return kB / 1024
}

// runClient runs a command of the client and gives how long it took and the most memory that it held, in MB.
func runClient(b *testing.B, bin, home string, args ...string) (time.Duration, float64) {
	b.Helper()
	cmd := exec.Command(filepath.Join(bin, "client"), args...)
	cmd.Env = append(os.Environ(), "TACET_HOME="+home)
	var said bytes.Buffer
	cmd.Stderr = &said
	began := time.Now()
	if err := cmd.Start(); err != nil {
		b.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	peak := 0.0
	for every := time.NewTicker(2 * time.Millisecond); ; { // what the kernel says of an ended process counts this one in
		select {
		case err := <-ended:
			if err != nil {
				b.Fatalf("client %s: %v: %s", strings.Join(args, " "), err, said.String())
			}
			every.Stop()
			return time.Since(began), peak
		case <-every.C:
			peak = max(peak, memoryOf(cmd.Process.Pid, "VmHWM"))
		}
	}
}
