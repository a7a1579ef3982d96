package jobs_test

import (
	"cmp"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"tacet/jobs"
)

// BenchmarkFold folds a job of as many entries as its name says, decoding included and decoded before, and adds entries one
// by one. The floor is what no fold can go below: looking each entry up once by its hash. TACET_ENTRIES lists other sizes; exponent says
// how the fold of decoded entries grows from the first to the last of them, 1 being in proportion.
func BenchmarkFold(b *testing.B) {
	var sizes, took []float64
	for _, text := range strings.Split(cmp.Or(os.Getenv("TACET_ENTRIES"), "1000,10000"), ",") {
		n, err := strconv.Atoi(text)
		if err != nil {
			b.Fatal(err)
		}
		own := jobOfNotes(b, n)
		extra := own[n:]
		floor := map[jobs.Hash]int{}
		b.Run(fmt.Sprintf("floor/%d", n), func(b *testing.B) {
			for b.Loop() {
				clear(floor)
				for i, e := range own[:n] {
					floor[e.Hash] = i
				}
			}
		})
		b.Run(fmt.Sprintf("parse/%d", n), func(b *testing.B) {
			for b.Loop() {
				for _, e := range own[:n] {
					if _, err := jobs.ParseEntry(e.Env, e.Data); err != nil {
						b.Fatal(err)
					}
				}
			}
		})
		b.Run(fmt.Sprintf("fold/%d", n), func(b *testing.B) {
			for b.Loop() {
				jobs.Fold(jobID, company, own[:n])
			}
		})
		b.Run(fmt.Sprintf("decoded/%d", n), func(b *testing.B) {
			j := jobs.Fold(jobID, company, own[:n])
			for b.Loop() {
				j.Clone()
			}
			each := b.Elapsed().Seconds() / float64(b.N)
			b.ReportMetric(1000*each, "ms/fold")
			sizes, took = append(sizes, float64(n)), append(took, each)
		})
		b.Run(fmt.Sprintf("add/%d", n), func(b *testing.B) {
			j := jobs.Fold(jobID, company, own[:n])
			i := 0
			for b.Loop() {
				if i == len(extra) {
					b.StopTimer()
					j, i = jobs.Fold(jobID, company, own[:n]), 0
					b.StartTimer()
				}
				j.Add(extra[i])
				i++
			}
		})
	}
	if last := len(sizes) - 1; last > 0 {
		b.Run("exponent", func(b *testing.B) {
			b.ReportMetric(math.Log(took[last]/took[0])/math.Log(sizes[last]/sizes[0]), "exponent")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// jobOfNotes records a started job with n entries and a thousand more.
func jobOfNotes(b *testing.B, n int) []jobs.Entry {
	d := newDevice(b, 1, jobs.Owner)
	d.start(house)
	for len(d.own) < n+1000 {
		i := len(d.own)
		d.record(fmt.Sprintf(`{"do":"note","surface":"C1","layer":%d,"text":"note %d"}`, i%5+1, i))
	}
	return d.own
}
