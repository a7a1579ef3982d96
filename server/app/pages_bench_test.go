package app_test

import (
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/url"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"tacet/jobs"
	"tacet/server/app"
	"tacet/testdata"
)

// BenchmarkPages asks the server for its main pages while it holds a firm's 500 jobs with 100 layer records each, all on one SQLite
// file. It prints the median and the 95th percentile of each page, and how many times those of the floor: /healthz in the same run,
// which is the way through the program without a page. TACET_JOBS asks for another number of jobs.
func BenchmarkPages(b *testing.B) {
	n := 500
	if v := os.Getenv("TACET_JOBS"); v != "" {
		var err error
		if n, err = strconv.Atoi(v); err != nil {
			b.Fatal(err)
		}
	}
	w := benchFirm(b, n)
	floor := w.times(b, "/healthz", 200)
	b.Logf("%d jobs, %d records; floor /healthz p50 %.2f ms, p95 %.2f ms", n, w.records, ms(quantile(floor, 0.5)), ms(quantile(floor, 0.95)))
	for _, page := range []struct{ name, path string }{
		{"jobs", "/"}, {"queue", "/queue"}, {"job", "/jobs/" + w.jobs[n/2]}, {"surface", "/jobs/" + w.jobs[n/2] + "/s/C1"}, {"section", "/jobs/" + w.jobs[n/2] + "/s/C1/section-328.svg"},
		{"record", "/jobs/" + w.jobs[n/2] + "/s/C1/5/install"}, {"prediction", "/jobs/" + w.jobs[n/2] + "/s/C1/prediction"}, {"history", "/jobs/" + w.jobs[n/2] + "/history"}, {"outcomes", "/outcomes"},
	} {
		b.Run(page.name, func(b *testing.B) {
			began := time.Now()
			size := w.get(b, page.path)
			first := time.Since(began)
			var took []time.Duration
			for b.Loop() {
				w.touch(b)
				took = append(took, w.times(b, page.path, 1)...)
			}
			b.ReportMetric(ms(first), "ms-first")
			b.ReportMetric(ms(quantile(took, 0.5)), "ms-p50")
			b.ReportMetric(ms(quantile(took, 0.95)), "ms-p95")
			b.ReportMetric(float64(quantile(took, 0.95))/float64(quantile(floor, 0.95)), "x-floor")
			b.ReportMetric(float64(size)/1000, "kB")
			b.ReportMetric(0, "ns/op")
		})
	}
}

func ms(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }

func quantile(took []time.Duration, q float64) time.Duration {
	sorted := slices.Sorted(slices.Values(took))
	return sorted[min(len(sorted)-1, int(q*float64(len(sorted))))]
}

// firmBench is a server with a firm's jobs, and a signed-in browser.
type firmBench struct {
	url, cookie string
	device      *benchDevice
	jobs        []string
	records     int
	turn        int
}

func (w *firmBench) get(b *testing.B, path string) int {
	req, err := http.NewRequestWithContext(b.Context(), http.MethodGet, w.url+path, nil)
	if err != nil {
		b.Fatal(err)
	}
	req.Header.Set("Cookie", w.cookie)
	req.Header.Set("Accept", "text/html")
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		b.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err == nil && res.Header.Get("Refresh") != "" { // the jobs are still being read: what a browser does
		time.Sleep(100 * time.Millisecond)
		return w.get(b, path)
	}
	if err != nil || res.StatusCode != 200 {
		b.Fatalf("%s: %d %v %.300s", path, res.StatusCode, err, body)
	}
	return len(body)
}

func (w *firmBench) times(b *testing.B, path string, n int) []time.Duration {
	var took []time.Duration
	for range n {
		began := time.Now()
		w.get(b, path)
		took = append(took, time.Since(began))
	}
	return took
}

// touch lets a record arrive in one of the jobs before a page is asked for, as on a working day.
func (w *firmBench) touch(b *testing.B) {
	b.StopTimer()
	w.turn++
	w.device.job = w.jobs[w.turn%len(w.jobs)]
	w.device.record(b, 1)
	w.device.push(b)
	b.StartTimer()
}

// benchFirm fills a server from one device. Most jobs are done as far as they go, one in twelve has a layer that is ready to be seen,
// one in fifty a layer that was covered unseen.
func benchFirm(b *testing.B, n int) *firmBench {
	s, err := app.Start(b.Context(), app.Config{Folder: app.Folder{Dir: b.TempDir()}, Listen: "127.0.0.1:0", Log: slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		if err := s.Stop(); err != nil {
			b.Error(err)
		}
	})
	co, err := s.Accounts.AddCompany(b.Context(), "Quarrystone Interiors (invented)")
	if err != nil {
		b.Fatal(err)
	}
	w := &firmBench{url: s.URL, device: newBenchDevice(b, s, co, "an.owner")}
	source, err := testdata.Files.ReadFile("demo/lantern-row.json")
	if err != nil {
		b.Fatal(err)
	}
	imported, err := jobs.Import(source)
	if err != nil {
		b.Fatal(err)
	}
	who := jobs.Author{Person: w.device.answer.Person, Role: jobs.Owner}
	for i := range n {
		list := slices.Clone(imported)
		list[0] = json.RawMessage(strings.Replace(string(list[0]), "7b Lantern Row", fmt.Sprintf("%d Lantern Row", i), 1))
		put := func(format string, args ...any) { list = append(list, json.RawMessage(fmt.Sprintf(format, args...))) }
		for layer := 1; layer <= 4; layer++ {
			for range 20 {
				put(`{"do":"install","surface":"C1","layer":%d,"share":0.05,"mass_kg_m2":12.6}`, layer)
			}
			if layer == 3 && i%50 != 0 {
				put(`{"do":"release","surface":"C1","layer":3,"checks":["K19","K23"],"note":"looked at in place"}`)
			}
			if layer == 4 && i%12 == 0 {
				put(`{"do":"ready","surface":"C1","layer":4}`)
			}
		}
		for len(list) < len(imported)+100 {
			put(`{"do":"note","surface":"C1","layer":4,"text":"the board is cut round the pipe, sealed on both sides and looked at"}`)
		}
		id, err := w.device.replica.NewID()
		if err != nil {
			b.Fatal(err)
		}
		if _, err := w.device.replica.Record(b.Context(), co.ID, who, id, list); err != nil {
			b.Fatal(err)
		}
		w.jobs, w.records = append(w.jobs, id), w.records+len(list)
	}
	for {
		res, err := w.device.replica.Push(b.Context(), w.device.http)
		if err != nil {
			b.Fatal(err)
		}
		if res.Entries+res.Held == 0 {
			break
		}
	}
	w.cookie = signIn(b, s.URL, "an.owner")
	return w
}

// signIn signs a browser in and gives its cookie.
func signIn(b *testing.B, address, login string) string {
	b.Helper()
	form := url.Values{"login": {login}, "password": {password}}
	req, err := http.NewRequestWithContext(b.Context(), http.MethodPost, address+"/sign-in", strings.NewReader(form.Encode()))
	if err != nil {
		b.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Sec-Fetch-Site", "same-origin")
	res, err := (&http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}).Do(req)
	if err != nil {
		b.Fatal(err)
	}
	res.Body.Close()
	cookie, _, _ := strings.Cut(res.Header.Get("Set-Cookie"), ";")
	return cookie
}
