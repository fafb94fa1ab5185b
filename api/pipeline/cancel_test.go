package pipeline_test

import (
	"context"
	"errors"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"secondcut/api/pipeline"
)

// stopped opens and traces the photo with a context that ends after d, and returns
// the processor time spent after that until it returned, and the step in which it was;
// ok is false when the work was done before.
func stopped(t *testing.T, data []byte, d time.Duration) (late time.Duration, step string, ok bool) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	at := make(chan time.Duration, 1)
	timer := time.AfterFunc(d, func() {
		at <- cpu()
		cancel()
	})
	defer timer.Stop()
	progress := func(s pipeline.Step) { step = s.Name }
	s, err := pipeline.Open(ctx, data, pipeline.Options{}, progress)
	if err == nil {
		_, err = s.Trace(ctx, nil, progress)
	}
	end := cpu()
	switch {
	case err == nil:
		return 0, step, false
	case !errors.Is(err, context.Canceled):
		t.Fatal(err)
	}
	return end - <-at, step, true
}

// Whoever cancels waits for less than a quarter of the work, whatever the photo and
// whatever is being done: a fifth of a second or less on the machines that this is
// meant for. Both are processor time of all cores together, since other tests run
// meanwhile.
func TestCancelledSoon(t *testing.T) {
	if testing.Short() {
		t.Skip("traces whole photos")
	}
	data, err := os.ReadFile(benchPhoto)
	if err != nil {
		t.Fatal(err)
	}
	rnd := rand.New(rand.NewPCG(4, 2))
	for _, c := range []struct {
		name string
		data []byte
		runs int
	}{
		{"12 MP", data, 20},
		{"48 MP", doubled(t, data), 10},
	} {
		start, spent := time.Now(), cpu()
		if _, err := trace(t, c.data); err != nil {
			t.Fatal(err)
		}
		whole, work := time.Since(start), cpu()-spent
		var worst time.Duration
		var where string
		hits := 0
		for i := range c.runs {
			// Spread over the whole, and by chance within each part.
			at := (float64(i) + rnd.Float64()) / float64(c.runs) * float64(whole)
			late, step, ok := stopped(t, c.data, time.Duration(at))
			if !ok {
				continue
			}
			if hits++; late > worst {
				worst, where = late, step
			}
		}
		t.Logf("%s: %v of processor time in all; stopped %d times within %v (%s)", c.name, work, hits, worst, where)
		if hits == 0 || worst > work/4 {
			t.Errorf("%s: stopped after %v of processor time in step %s, want at most a quarter of %v", c.name, worst, where, work)
		}
	}
}
