//go:build unix

package jobs_test

import (
	"cmp"
	"fmt"
	"math"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"tacet/jobs"
)

// BenchmarkFold folds a job of as many entries as its name says, decoding included and decoded before, copies it, and adds entries one
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
		b.Run(fmt.Sprintf("copy/%d", n), func(b *testing.B) {
			j := jobs.Fold(jobID, company, own[:n])
			for b.Loop() {
				j.Clone()
			}
		})
		decoded := slices.Clone(own[:n])
		for i := range decoded {
			decoded[i].ReadBody()
		}
		b.Run(fmt.Sprintf("decoded/%d", n), func(b *testing.B) {
			began := processorTime(b)
			for b.Loop() {
				jobs.Fold(jobID, company, decoded)
			}
			each := float64((processorTime(b) - began).Microseconds()) / 1000 / float64(b.N)
			b.ReportMetric(each, "cpu-ms/fold")
			sizes, took = append(sizes, float64(n)), append(took, each)
		})
		b.Run(fmt.Sprintf("add/%d", n), func(b *testing.B) { addOneByOne(b, own[:n], extra) })
		for i := range extra {
			extra[i].ReadBody()
		}
		b.Run(fmt.Sprintf("add-decoded/%d", n), func(b *testing.B) { addOneByOne(b, own[:n], extra) })
	}
	if last := len(sizes) - 1; last > 0 {
		b.Run("exponent", func(b *testing.B) {
			b.ReportMetric(math.Log(took[last]/took[0])/math.Log(sizes[last]/sizes[0]), "exponent")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// addOneByOne adds entries to a job of some, and prints the processor time of one.
func addOneByOne(b *testing.B, own, extra []jobs.Entry) {
	var spent time.Duration
	n := 0
	for b.Loop() {
		b.StopTimer()
		j := jobs.Fold(jobID, company, own)
		runtime.GC()
		began := processorTime(b)
		b.StartTimer()
		for _, e := range extra {
			j.Add(e)
		}
		b.StopTimer()
		spent += processorTime(b) - began
		n += len(extra)
		b.StartTimer()
	}
	b.ReportMetric(float64(spent.Microseconds())/float64(n), "cpu-µs/entry")
	b.ReportMetric(0, "ns/op")
}

// processorTime is that of this process on all cores: who else uses the machine hardly changes it.
func processorTime(b *testing.B) time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
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
