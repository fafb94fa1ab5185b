package lay_test

import (
	"testing"
	"time"

	"secondcut/geometry/lay"
)

// BenchmarkPublished lays the published instances for the time that one search is
// given in the literature's quick runs, 60 s, and reports the share of the best known
// utilisation after 1 s and at the end.
func BenchmarkPublished(b *testing.B) {
	for _, name := range []string{"albano", "shirts"} {
		b.Run(name, func(b *testing.B) {
			in, best := published(b, name)
			for b.Loop() {
				start, early := time.Now(), 0.0
				l, err := lay.Nest(b.Context(), in, lay.Options{Time: time.Minute}, func(l lay.Layout) {
					if time.Since(start) < time.Second {
						early = best / l.LengthMM
					}
				})
				if err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(100*early, "%-of-best-after-1s")
				b.ReportMetric(100*best/l.LengthMM, "%-of-best")
			}
		})
	}
}
