package e2e_test

import (
	"fmt"
	"testing"
)

// BenchmarkPhoneStart opens the phone's program without a network, a week's records in its database, until the jobs are shown. The floor
// is the same page's own text, out of the same cache and read, in the same start.
func BenchmarkPhoneStart(b *testing.B) {
	if chromium() == "" {
		b.Skip("no Chromium here")
	}
	br := open(b)
	f := newFirm(b)
	f.enrolPhone(br)
	br.until("the service worker has everything", "navigator.serviceWorker.controller")
	f.net.set(true)
	notes(br, f, 0, 280)
	var start, floor float64
	n := 0
	for b.Loop() {
		br.visit(fmt.Sprintf("%s/phone?start=%d", f.URL, n))
		br.until("it is ready", "performance.getEntriesByName('ready').length")
		start += eval[float64](br, "performance.getEntriesByName('ready')[0].startTime")
		floor += eval[float64](br, "performance.getEntriesByType('navigation')[0].domInteractive")
		n++
	}
	b.ReportMetric(start/float64(n), "ms/start")
	b.ReportMetric(start/floor, "start/page-read")
}
