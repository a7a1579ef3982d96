package outcomes_test

import (
	"testing"

	"tacet/jobs/outcomes"
)

// BenchmarkCollect reads the facts of one job, predictions of its three surfaces included, beside one of those predictions.
func BenchmarkCollect(b *testing.B) {
	s := newSite(&testing.T{}, 9, house)
	s.build("2026-03-10")
	for b.Loop() {
		outcomes.Collect(s.job)
	}
}
