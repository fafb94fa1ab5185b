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
// the processor time spent after that and the step in which it was; ok is false
// when the work was done before.
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

// Whoever cancels waits for less than a fifth of a second, whatever the photo and
// whatever is being done: measured as processor time of both cores together, which
// is more than the clock would show on an idle machine.
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
		most time.Duration
	}{
		{"12 MP", data, 20, 200 * time.Millisecond},
		{"48 MP", doubled(t, data), 10, 300 * time.Millisecond},
	} {
		start := time.Now()
		if _, err := trace(t, c.data); err != nil {
			t.Fatal(err)
		}
		whole := time.Since(start)
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
		t.Logf("%s: of %v, stopped %d times within %v of processor time (%s)", c.name, whole, hits, worst, where)
		if worst > c.most {
			t.Errorf("%s: stopped after %v in step %s, want %v", c.name, worst, where, c.most)
		}
	}
}
