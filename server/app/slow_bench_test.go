package app_test

import (
	"fmt"
	"net"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"tacet/server/app"
)

// BenchmarkSlowClients holds 500 connections open that send their request byte by byte and never come to an end, and compares how long
// others wait with how long they wait on the same server without. Ratios, because the machine is anybody's.
func BenchmarkSlowClients(b *testing.B) {
	s, err := app.Start(b.Context(), app.Config{Folder: app.Folder{Dir: b.TempDir()}, Listen: "127.0.0.1:0"})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() {
		if err := s.Stop(); err != nil {
			b.Error(err)
		}
	})
	client := &http.Client{Timeout: 30 * time.Second}
	measure := func(n int) (median, slow time.Duration) {
		took := make([]time.Duration, n)
		for i := range took {
			began := time.Now()
			res, err := client.Get(s.URL + "/readyz")
			if err != nil {
				b.Fatal(err)
			}
			res.Body.Close()
			if res.StatusCode != 200 {
				b.Fatalf("status %d", res.StatusCode)
			}
			took[i] = time.Since(began)
		}
		slices.Sort(took)
		return took[n/2], took[n*99/100]
	}
	n := max(b.N, 500)
	measure(100)
	median, slow := measure(n)

	stop := make(chan struct{})
	defer close(stop)
	addr := strings.TrimPrefix(s.URL, "http://")
	for i := range 500 {
		c, err := net.Dial("tcp", addr)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := fmt.Fprintf(c, "POST /v1/enrol HTTP/1.1\r\nHost: %s\r\nContent-Length: 60000\r\n\r\n", addr); err != nil {
			b.Fatal(err)
		}
		go func() {
			defer c.Close()
			every := time.NewTicker(time.Second)
			defer every.Stop()
			for {
				select {
				case <-stop:
					return
				case <-every.C:
					if _, err := c.Write([]byte{byte('a' + i%26)}); err != nil {
						return
					}
				}
			}
		}()
	}
	b.ResetTimer()
	loadedMedian, loadedSlow := measure(n)
	b.ReportMetric(float64(loadedMedian)/float64(median), "x-median")
	b.ReportMetric(float64(loadedSlow)/float64(slow), "x-p99")
	b.ReportMetric(float64(loadedSlow.Microseconds())/1000, "ms-p99")
	b.ReportMetric(0, "ns/op")
}
