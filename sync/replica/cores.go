package replica

import (
	"runtime"
	"sync"
)

// fewForCores is what is done sooner than others could be woken for it.
const fewForCores = 16

// onAllCores calls f for 0 to n-1, several at a time where there are several cores. f must not panic.
func onAllCores(n int, f func(i int)) {
	workers := min(runtime.GOMAXPROCS(0), n/fewForCores)
	if workers < 2 {
		for i := range n {
			f(i)
		}
		return
	}
	var all sync.WaitGroup
	for w := range workers {
		all.Go(func() {
			for i := w; i < n; i += workers {
				f(i)
			}
		})
	}
	all.Wait()
}
