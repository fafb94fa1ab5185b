package main

import (
	"context"
	"fmt"
	"io"
	"sync"
	"time"
)

// ticker shows on one stream how a search goes: what gets better, twice a second at most,
// and every few seconds that it is still at work.
type ticker struct {
	w       io.Writer
	start   time.Time
	seconds float64
	lock    sync.Mutex
	shown   time.Time
	now     string // the best so far, in words
	end     context.CancelFunc
	ended   sync.WaitGroup
}

func newTicker(w io.Writer, seconds float64) *ticker {
	ctx, end := context.WithCancel(context.Background())
	t := &ticker{w: w, start: time.Now(), seconds: seconds, end: end}
	t.ended.Go(func() {
		const quiet = 5 * time.Second
		beat := time.NewTicker(quiet)
		defer beat.Stop()
		for {
			select {
			case <-ctx.Done():
				return
			case <-beat.C:
				t.lock.Lock()
				if time.Since(t.shown) > quiet-time.Second {
					t.show(t.now + ", still looking")
				}
				t.lock.Unlock()
			}
		}
	})
	return t
}

// show writes a line; the lock is held.
func (t *ticker) show(text string) {
	t.shown = time.Now()
	fmt.Fprintf(t.w, "%5.1f of %g s: %s\n", time.Since(t.start).Seconds(), t.seconds, text)
}

// tell keeps a line in mind and shows it, if the last one is not too fresh.
func (t *ticker) tell(format string, args ...any) {
	t.lock.Lock()
	defer t.lock.Unlock()
	if t.now = fmt.Sprintf(format, args...); time.Since(t.shown) > time.Second/2 {
		t.show(t.now)
	}
}

// stop ends the showing; last writes the best once more, with what there is to add.
func (t *ticker) stop() {
	t.end()
	t.ended.Wait()
}

func (t *ticker) last(format string, args ...any) {
	t.show(t.now + "; " + fmt.Sprintf(format, args...))
}
