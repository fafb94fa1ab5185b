package outline

import (
	"runtime"
	"sync"
)

// parallel calls work on parts of [0, n) that together cover it, on at most two
// goroutines: the service runs one photo a core.
func parallel(n int, work func(from, to int)) {
	if runtime.GOMAXPROCS(0) < 2 || n < 64 {
		work(0, n)
		return
	}
	var wg sync.WaitGroup
	wg.Go(func() { work(0, n/2) })
	work(n/2, n)
	wg.Wait()
}
