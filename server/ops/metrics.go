package ops

import (
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// Metrics counts what a server does, for Prometheus. No label names a company, a person or a job: there would be too many, and who reads
// metrics need not know them. All methods may be called on nil, which counts nothing.
type Metrics struct {
	registry  *prometheus.Registry
	requests  *prometheus.CounterVec
	took      *prometheus.HistogramVec
	entries   *prometheus.CounterVec
	exchanges *prometheus.HistogramVec
	conflicts prometheus.Gauge
	held      prometheus.Gauge
}

// NewMetrics returns counters at nothing.
func NewMetrics(version string) *Metrics {
	m := &Metrics{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "tacet_http_requests_total", Help: "Requests by method and by the first digit of the answer's status."}, []string{"method", "status"}),
		took: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "tacet_http_request_duration_seconds", Help: "How long requests took.",
			Buckets: []float64{.005, .02, .05, .1, .25, .5, 1, 2.5, 5, 10, 30}}, []string{"method"}),
		entries: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "tacet_sync_ops_total", Help: "Entries that devices sent, by what became of them."}, []string{"result"}),
		exchanges: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "tacet_sync_duration_seconds", Help: "How long pushes and pulls took.",
			Buckets: []float64{.005, .02, .05, .1, .25, .5, 1, 2.5, 5, 10, 30}}, []string{"kind"}),
		conflicts: prometheus.NewGauge(prometheus.GaugeOpts{Name: "tacet_conflicts_open", Help: "Records that disagree and nobody ruled on, over all companies."}),
		held:      prometheus.NewGauge(prometheus.GaugeOpts{Name: "tacet_sync_held_open", Help: "Entries that wait for a supervisor, over all companies."}),
	}
	build := prometheus.NewGauge(prometheus.GaugeOpts{Name: "tacet_build_info", Help: "Always 1; the label says which version runs.", ConstLabels: prometheus.Labels{"version": version}})
	build.Set(1)
	m.registry.MustRegister(m.requests, m.took, m.entries, m.exchanges, m.conflicts, m.held, build,
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// methods are those that are counted by name; a stranger may send any word.
var methods = map[string]bool{"GET": true, "HEAD": true, "POST": true, "PUT": true, "DELETE": true, "OPTIONS": true}

// Request counts an answered request. The route is that of the table, not the path.
func (m *Metrics) Request(method, route string, status int, took time.Duration) {
	if m == nil {
		return
	}
	if !methods[method] {
		method = "other"
	}
	m.requests.WithLabelValues(method, string(rune('0'+status/100%10))+"xx").Inc()
	m.took.WithLabelValues(method).Observe(took.Seconds())
	switch route {
	case "/v1/push":
		m.exchanges.WithLabelValues("push").Observe(took.Seconds())
	case "/v1/pull":
		m.exchanges.WithLabelValues("pull").Observe(took.Seconds())
	}
}

// Entries counts what became of entries: standing, held, known before.
func (m *Metrics) Entries(result string, n int) {
	if m != nil && n > 0 {
		m.entries.WithLabelValues(result).Add(float64(n))
	}
}

// Open says how much waits for somebody.
func (m *Metrics) Open(conflicts, held int) {
	if m != nil {
		m.conflicts.Set(float64(conflicts))
		m.held.Set(float64(held))
	}
}

// Handler serves the metrics at /metrics and nothing else.
func (m *Metrics) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{}))
	return mux
}
