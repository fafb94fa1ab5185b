package segment

import "sync"

// both runs f and g at the same time and waits for them.
func both(f, g func()) {
	var wg sync.WaitGroup
	wg.Go(f)
	g()
	wg.Wait()
}

// halves calls f for the two halves of 0..n at the same time.
func halves(n int, f func(from, to int)) {
	both(func() { f(0, n/2) }, func() { f(n/2, n) })
}
