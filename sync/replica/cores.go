package replica

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// fewForCores is what is done sooner than others could be woken for it.
const fewForCores = 16

// onAllCores calls f for 0 to n-1, several at a time where there are several cores. A panic of f is one of the caller, as if f had been
// called here: what is made of it, an answer or a crash report, is decided there.
func onAllCores(n int, f func(i int)) {
	workers := min(runtime.GOMAXPROCS(0), n/fewForCores)
	if workers < 2 {
		for i := range n {
			f(i)
		}
		return
	}
	var all sync.WaitGroup
	var broken atomic.Pointer[any]
	for w := range workers {
		all.Go(func() {
			defer func() {
				if p := recover(); p != nil {
					broken.Store(&p)
				}
			}()
			for i := w; i < n; i += workers {
				f(i)
			}
		})
	}
	all.Wait()
	if p := broken.Load(); p != nil {
		panic(*p)
	}
}
