package fit

import (
	"math"
	"math/rand/v2"
	"testing"
)

// wornSpan returns a span of n independent samples at every second millimetre
// whose clean edge lies at 0, and wears it.
func wornSpan(n int, stated float64, sample func() float64) *span {
	s := &span{lo: 0, hi: 2 * float64(n), sigma: stated, level: level{sd: 1, tau: 2}}
	for range n {
		s.residual = append(s.residual, sample())
	}
	s.fraying(2, 1)
	s.wear(guesses(), 1)
	return s
}

// Noise that is even on both sides is no fray, even where it is somewhat larger
// than stated, or stated as much larger than it is. Noise a third larger than
// stated can't be told from even fray: half of its deviation may be taken for loss.
func TestNoiseIsNoFray(t *testing.T) {
	rnd := rand.New(rand.NewPCG(8, 1))
	for _, c := range []struct{ sd, stated, most float64 }{
		{0.05, 0.05, 0.02}, {0.1, 0.1, 0.04}, {0.3, 0.3, 0.1}, {0.1, 0.2, 0.02}, {0.13, 0.1, 0.075}, {0.26, 0.2, 0.15},
	} {
		var sum float64
		const rounds = 40
		for range rounds {
			sum += wornSpan(150, c.stated, func() float64 { return c.sd * rnd.NormFloat64() }).loss
		}
		if mean := sum / rounds; math.Abs(mean) > c.most {
			t.Errorf("noise of %.2f stated as %.2f mm is taken for %.3f mm of loss", c.sd, c.stated, mean)
		}
	}
}

// Loss by laws that are none of those assumed: the clean edge comes back within
// a part of what was lost, and twice the stated doubt and more rarely fails.
func TestLossIsMadeGood(t *testing.T) {
	rnd := rand.New(rand.NewPCG(8, 2))
	for _, c := range []struct {
		name string
		loss func() float64
		mean float64 // of the loss, mm
	}{
		{"exponential", func() float64 { return 0.25 * rnd.ExpFloat64() }, 0.25},
		{"triangular", func() float64 { return 0.8 * (1 - math.Sqrt(rnd.Float64())) }, 0.8 / 3},
		{"half normal", func() float64 { return 0.4 * math.Abs(rnd.NormFloat64()) }, 0.32},
		{"every third stretch", func() float64 { return float64(rnd.IntN(3)/2) * (0.5 + 0.5*rnd.Float64()) }, 0.25},
		{"heavy", func() float64 { return 1.6 * rnd.Float64() * rnd.Float64() }, 0.4},
	} {
		var sum float64
		covered := 0
		const rounds = 40
		for range rounds {
			s := wornSpan(120, 0.1, func() float64 { return 0.1*rnd.NormFloat64() - c.loss() })
			sum += s.loss
			if math.Abs(s.loss) < 2*math.Hypot(1.8*s.doubt, 0.5*s.worn()) {
				covered++
			}
		}
		if mean := sum / rounds; math.Abs(mean) > 0.45*c.mean {
			t.Errorf("%s: the edge is off by %.3f mm where %.2f mm were lost in the mean", c.name, mean, c.mean)
		}
		if covered < rounds*9/10 {
			t.Errorf("%s: only %d of %d within what is stated", c.name, covered, rounds)
		}
	}
}

// The distribution of worn samples is the one that is drawn by chance.
func TestMixtureAgainstDraws(t *testing.T) {
	rnd := rand.New(rand.NewPCG(8, 3))
	for _, law := range append(laws(), nil) {
		m := mixture{law, 0.7, 0.12}
		const n = 100000
		at := []float64{-0.6, -0.3, 0, 0.15, 0.5}
		below := make([]int, len(at))
		var least int
		mid := m.median()
		for range n {
			x := m.sd * rnd.NormFloat64()
			if p := rnd.Float64(); law != nil {
				for _, s := range law {
					if p -= s.share; p < 0 {
						x -= m.most * (s.from + (s.to-s.from)*rnd.Float64())
						break
					}
				}
			}
			if rnd.Float64() < threadShare {
				x = rnd.ExpFloat64()
			}
			for k := range at {
				if x < at[k] {
					below[k]++
				}
			}
			if x < mid {
				least++
			}
		}
		for k, x := range at {
			if got, want := m.below(x), float64(below[k])/n; math.Abs(got-want) > 0.006 {
				t.Errorf("%v: %.4f below %.2f, drawn %.4f", law, got, x, want)
			}
		}
		if f := float64(least) / n; math.Abs(f-0.5) > 0.01 {
			t.Errorf("%v: the median has %.3f below it", law, f)
		}
	}
}
