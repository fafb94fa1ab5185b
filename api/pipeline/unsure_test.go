package pipeline

import (
	"math"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/fit"
	"secondcut/vision/segment"
)

// circle returns a ring of n samples 1 mm apart, weak where weak says so.
func circle(n int, weak func(i int) bool) []fit.Sample {
	r := float64(n) / (2 * math.Pi)
	out := make([]fit.Sample, n)
	for i := range out {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		out[i] = fit.Sample{At: geometry.Point{X: r * c, Y: r * s}, Weak: weak(i)}
	}
	return out
}

func TestWeakRuns(t *testing.T) {
	const n = 200
	cases := map[string]struct {
		weak func(i int) bool
		want []span
	}{
		"none":                     {func(int) bool { return false }, nil},
		"all":                      {func(int) bool { return true }, []span{{0, n}}},
		"one":                      {func(i int) bool { return i >= 50 && i < 70 }, []span{{50, 70}}},
		"over the seam":            {func(i int) bool { return i < 10 || i >= 190 }, []span{{190, 210}}},
		"too short to matter":      {func(i int) bool { return i >= 50 && i < 55 }, nil},
		"two joined over a gap":    {func(i int) bool { return i >= 50 && i < 60 || i >= 66 && i < 80 }, []span{{50, 80}}},
		"two apart":                {func(i int) bool { return i >= 50 && i < 60 || i >= 90 && i < 99 }, []span{{50, 60}, {90, 99}}},
		"short ones far and alone": {func(i int) bool { return i%40 == 0 }, nil},
	}
	for name, c := range cases {
		got := weakRuns(circle(n, c.weak))
		if len(got) != len(c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
			continue
		}
		for i, w := range c.want {
			if g := got[i]; g.from%n != w.from%n || g.to-g.from != w.to-w.from {
				t.Errorf("%s: %v, want %v", name, got, c.want)
			}
		}
	}
}

func TestUnsureTellsTheNearestReason(t *testing.T) {
	samples := circle(200, func(i int) bool { return i >= 40 && i < 60 || i >= 140 && i < 160 })
	c := segment.Contour{
		Points: geometry.Polyline{samples[50].At, samples[100].At},
		Why:    []string{"a shadow crosses the edge", ""},
	}
	got := unsure(ring{samples: samples, why: reasonNear(c)})
	if len(got) != 2 || got[0].Why == got[1].Why {
		t.Fatalf("got %v, want two stretches with their own reasons", got)
	}
	for _, s := range got {
		near := s.From.Dist(samples[40].At) < 1
		if want := c.Why[0]; near && s.Why != want || !near && s.Why != whyWeak {
			t.Errorf("stretch from %v says %q", s.From, s.Why)
		}
	}
}
