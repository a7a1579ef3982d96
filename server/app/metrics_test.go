package app_test

import (
	"io"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/prometheus/client_golang/prometheus/testutil/promlint"

	"tacet/jobs"
	"tacet/server/app"
)

// Metrics are counted, lie on a port of their own, keep to the rules for names, and name nobody.
func TestMetrics(t *testing.T) {
	w := emptyWorld(t, app.Config{Metrics: "127.0.0.1:0"})
	w.co = w.company("Quarrystone Interiors (invented)")
	d := w.enrol(w.co, "m.reed", jobs.Site)
	job, _, _ := jobToTry(t, d)
	w.call(request{method: "GET", path: "/v1/nothing"})
	if r := w.call(request{method: "GET", path: "/metrics"}); r.status != 404 {
		t.Errorf("metrics on the server's own port: %d", r.status)
	}
	res, err := http.Get("http://" + w.MetricsAddress + "/metrics")
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	text := string(body)
	for _, want := range []string{`tacet_sync_ops_total{result="standing"} `, `tacet_sync_duration_seconds_count{kind="push"} `, `tacet_http_requests_total{method="GET",status="4xx"} `,
		"tacet_build_info{version=", "tacet_conflicts_open ", "go_goroutines ", "process_resident_memory_bytes "} {
		if !strings.Contains(text, want) {
			t.Errorf("no %s", want)
		}
	}
	problems, err := promlint.New(strings.NewReader(text)).Lint()
	for _, p := range problems {
		if strings.HasPrefix(p.Metric, "tacet_") {
			t.Errorf("%s: %s", p.Metric, p.Text)
		}
	}
	if err != nil {
		t.Error(err)
	}
	if n := len(regexp.MustCompile(`(?m)^tacet_`).FindAllString(text, -1)); n > 300 {
		t.Errorf("%d series of ours", n)
	}
	for _, secret := range []string{job, w.co.ID, d.id, "m.reed"} {
		if strings.Contains(text, secret) {
			t.Errorf("metrics name %s", secret)
		}
	}
	if s, err := app.Start(t.Context(), app.Config{Folder: tempFolder(t), Listen: "127.0.0.1:0", Metrics: "0.0.0.0:0"}); err == nil {
		t.Error("metrics are served to the network")
		if err := s.Stop(); err != nil {
			t.Error(err)
		}
	}
}
