package replica

import (
	"runtime"
	"sync/atomic"
	"testing"
)

// Each number is done once, on however many cores; a panic comes out where it would without them.
func TestOnAllCores(t *testing.T) {
	before := runtime.GOMAXPROCS(4)
	defer runtime.GOMAXPROCS(before)
	for _, n := range []int{0, 1, 31, 32, 500} {
		done := make([]atomic.Int32, n)
		onAllCores(n, func(i int) { done[i].Add(1) })
		for i := range done {
			if got := done[i].Load(); got != 1 {
				t.Errorf("of %d, %d was done %d times", n, i, got)
			}
		}
	}
	defer func() {
		if p := recover(); p != "the ninety-ninth" {
			t.Errorf("the panic was %v", p)
		}
	}()
	onAllCores(500, func(i int) {
		if i == 99 {
			panic("the ninety-ninth")
		}
	})
	t.Error("no panic")
}
