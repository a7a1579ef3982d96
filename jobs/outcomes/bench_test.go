//go:build unix

package outcomes_test

import (
	"math/rand/v2"
	"runtime"
	"syscall"
	"testing"
	"time"

	"tacet/jobs/outcomes"
)

const manyJobs = 50_000

// onOneCore keeps to one processor and returns a clock of the processor time spent, which others on the machine don't move.
func onOneCore(b *testing.B) (clock func() time.Duration) {
	b.Helper()
	before := runtime.GOMAXPROCS(1)
	b.Cleanup(func() { runtime.GOMAXPROCS(before) })
	return func() time.Duration {
		var u syscall.Rusage
		if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
			b.Fatal(err)
		}
		return time.Duration(u.Utime.Nano() + u.Stime.Nano())
	}
}

// BenchmarkSummarise works out 50,000 jobs at once on one core and, beside it, reads every fact of them once.
func BenchmarkSummarise(b *testing.B) {
	clock := onOneCore(b)
	r := rand.New(rand.NewPCG(1, 1))
	fs := newWorld(r, 40).firm(r, manyJobs)
	var ours, floor time.Duration
	for b.Loop() {
		start := clock()
		s := outcomes.Summarise(fs)
		ours += clock() - start
		if s.Jobs.N != manyJobs {
			b.Fatal(s.Jobs)
		}
		start = clock()
		if plainPass(fs) == 0 {
			b.Fatal("nothing read")
		}
		floor += clock() - start
	}
	b.ReportMetric(float64(ours)/float64(floor), "x-plain-pass")
	b.ReportMetric(ours.Seconds()/float64(b.N), "s/50k-jobs")
}

// BenchmarkPutOne takes one changed job into a book of 50,000 and works the summary out again, beside doing it all anew.
func BenchmarkPutOne(b *testing.B) {
	clock := onOneCore(b)
	r := rand.New(rand.NewPCG(1, 1))
	w := newWorld(r, 40)
	fs := w.firm(r, manyJobs)
	book := outcomes.NewBook()
	for _, f := range fs {
		book.Put(f)
	}
	start := clock()
	book.Summary()
	whole := clock() - start
	start = clock()
	if plainPass(fs) == 0 {
		b.Fatal("nothing read")
	}
	floor := clock() - start
	var put, again time.Duration
	n := 0
	for b.Loop() {
		f := w.job(r, n%manyJobs)
		n++
		start := clock()
		book.Put(f)
		put += clock() - start
		start = clock()
		book.Summary()
		again += clock() - start
	}
	b.ReportMetric(float64(again)/float64(b.N)/float64(floor), "x-plain-pass")
	b.ReportMetric(float64(put)/float64(again), "put/summary")
	b.ReportMetric(again.Seconds()/float64(b.N), "s/summary-again")
	b.ReportMetric(float64(again)/float64(b.N)/float64(whole), "again/first")
}

func plainPass(fs []outcomes.Facts) float64 {
	var sum float64
	for i := range fs {
		f := &fs[i]
		for _, p := range f.Parts {
			sum += float64(p.Failed+p.Covered+p.Unseen+p.Answered+len(p.Family.Code)) + *p.MarginDB + *p.Evidence
		}
		for _, t := range f.Tests {
			sum += t.MeasuredDB - *t.PredictedDB
		}
		for _, u := range f.FollowUps {
			sum += float64(u.Month + u.Answers["voices"])
		}
		for _, c := range f.Complaints {
			sum += float64(len(c.Kind))
		}
		for _, c := range f.Cures {
			sum += c.Hours
		}
		for _, c := range f.Checks {
			sum += float64(c.Answered + c.Failed)
		}
		sum += float64(f.Baseline["voices"])
	}
	return sum
}
