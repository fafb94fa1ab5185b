package fit_test

import (
	"math/rand/v2"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/fit"
)

func BenchmarkEdge(b *testing.B) {
	for _, c := range []struct {
		name string
		wear wear
	}{
		{"clean", wear{sigma: 0.1}},
		{"light", wear{sigma: 0.1, loss: 0.7, uneven: true, threads: 0.03}},
		{"heavy", wear{sigma: 0.1, loss: 1.8, uneven: true, threads: 0.1}},
	} {
		for _, s := range readOutlines(b, outlines) {
			if s.name != "trouser_front" {
				continue
			}
			in := c.wear.spoil(s.sampled(0.5), 0.5, rand.New(rand.NewPCG(1, 1)))
			b.Run(c.name, func(b *testing.B) {
				for b.Loop() {
					if _, err := fit.Edge(in, fit.Options{}); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(len(in)), "samples")
			})
		}
	}
}

// Refitting an outline of 3 m, as the slider does with every move.
func BenchmarkRefit(b *testing.B) {
	for _, c := range []struct {
		name string
		wear wear
	}{
		{"clean", wear{sigma: 0.1}},
		{"heavy", wear{sigma: 0.1, loss: 1.8, uneven: true, threads: 0.1}},
	} {
		for _, s := range readOutlines(b, outlines) {
			if s.name != "trouser_front" {
				continue
			}
			d := s.sampled(0.5)
			grow := 3000 / (0.5 * float64(len(d.p)))
			for i := range s.segs {
				for _, p := range []*geometry.Point{&s.segs[i].A, &s.segs[i].B, &s.segs[i].C, &s.segs[i].D} {
					*p = geometry.Point{X: p.X * grow, Y: p.Y * grow}
				}
			}
			raw, err := fit.Prepare(c.wear.spoil(s.sampled(0.5), 0.5, rand.New(rand.NewPCG(1, 1))))
			if err != nil {
				b.Fatal(err)
			}
			b.Run(c.name, func(b *testing.B) {
				for b.Loop() {
					if _, err := raw.Fit(fit.Options{Smooth: 0.5}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
