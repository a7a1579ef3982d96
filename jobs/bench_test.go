package jobs_test

import (
	"fmt"
	"testing"

	"tacet/jobs"
)

// BenchmarkFold folds a job of 10,000 entries, decoding included, and adds one more. The floor is parsing the entries.
func BenchmarkFold(b *testing.B) {
	d := newDevice(b, 1, jobs.Owner)
	d.start(house)
	for len(d.own) < 10000 {
		n := len(d.own)
		d.record(fmt.Sprintf(`{"do":"note","surface":"C1","layer":%d,"text":"note %d"}`, n%5+1, n))
	}
	b.Run("parse", func(b *testing.B) {
		for b.Loop() {
			for _, e := range d.own {
				if _, err := jobs.ParseEntry(e.Env, e.Data); err != nil {
					b.Fatal(err)
				}
			}
		}
	})
	b.Run("fold", func(b *testing.B) {
		for b.Loop() {
			jobs.Fold(jobID, company, d.own)
		}
	})
	b.Run("add", func(b *testing.B) {
		last := d.own[len(d.own)-1]
		for b.Loop() {
			b.StopTimer()
			j := jobs.Fold(jobID, company, d.own[:len(d.own)-1])
			b.StartTimer()
			j.Add(last)
		}
	})
}
