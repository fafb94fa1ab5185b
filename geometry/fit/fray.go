package fit

import (
	"math"
	"slices"
)

// slab is a share of a worn edge whose loss is spread evenly between two
// fractions of the greatest loss.
type slab struct{ from, to, share float64 }

// laws are ways in which an edge may have lost cloth: evenly up to the greatest
// loss, about the middle of it, mostly little, and in patches between which the
// cut edge is whole. None of them is taken for granted: see [span.wear].
func laws() [][]slab {
	return [][]slab{
		{{0, 1, 1}},
		{{0, 0.3, 0.2}, {0.3, 0.7, 0.6}, {0.7, 1, 0.2}},
		{{0, 0.25, 0.5}, {0.25, 0.55, 0.35}, {0.55, 1, 0.15}},
		{{0, 0.04, 0.5}, {0.04, 0.5, 0.25}, {0.5, 1, 0.25}},
	}
}

// What is known of fray before an edge is seen; no figure is from single photos.
const (
	cleanShare  = 0.25 // of edges that are not frayed at all
	usualLossMM = 0.6  // middling greatest loss of the others
	lossSpread  = 0.8  // standard deviation of its logarithm
	noiseSpread = 0.3  // that of the true noise over the stated one
	threadShare = 0.03 // of samples on threads, outside the clean edge
	oddShare    = 0.01 // of samples anywhere
	mostSamples = 80.0 // independent ones, from which the laws' own error rules
)

// guess is one way in which the samples of an edge may lie about the clean one:
// fray by a law up to most mm, and noise of the stated size times factor. Without
// a law nothing is lost.
type guess struct {
	law          []slab
	most, factor float64
	prior        float64 // logarithm of its probability
}

// guesses returns the grid of them.
func guesses() (out []guess) {
	for k := -3; k <= 5; k++ {
		x := 0.2 * float64(k)
		noise := -x * x / (2 * noiseSpread * noiseSpread)
		out = append(out, guess{nil, 0, math.Exp(x), noise + math.Log(cleanShare)})
		first, sum := len(out), 0.0
		for j := range 8 {
			most := 0.15 * math.Pow(1.45, float64(j))
			y := math.Log(most/usualLossMM) / lossSpread
			for _, law := range laws() {
				out = append(out, guess{law, most, math.Exp(x), -y * y / 2})
				sum += math.Exp(-y * y / 2)
			}
		}
		for i := first; i < len(out); i++ {
			out[i].prior += noise + math.Log((1-cleanShare)/sum)
		}
	}
	return out
}

// wear finds how far outside the middle of its samples the clean edge of the
// span lies, and how doubtful that is. Loss is inward only and threads are few,
// so that a spread of the samples that is lopsided, or wider than their stated
// noise, is fray; symmetric noise of the stated size is none. Every guess is
// weighed by how well it explains the samples, and the weighted mean is taken
// (Bayes' rule on a grid). A ripple is even on both sides and has been seen to.
func (s *span) wear(all []guess, unit float64) {
	if s.ripple || len(s.residual) < 8 {
		return
	}
	sigma := math.Max(s.sigma, 0.05*unit)
	weight := math.Min((s.hi-s.lo)/s.level.tau, mostSamples)
	h := newHistogram(s.residual, sigma)
	logs, outs := make([]float64, len(all)), make([]float64, len(all))
	best := math.Inf(-1)
	for i, g := range all {
		m := mixture{g.law, g.most, sigma * g.factor}
		mid := m.median()
		logs[i], outs[i] = g.prior+weight*h.fit(m, mid), -mid
		best = math.Max(best, logs[i])
	}
	var w, mean, square float64
	for i, x := range outs {
		p := math.Exp(logs[i] - best)
		w, mean, square = w+p, mean+p*x, square+p*x*x
	}
	mean, square = mean/w, square/w
	s.loss += mean
	s.doubt = math.Sqrt(math.Max(0, square-mean*mean))
}

// mixture is the distribution of samples about the clean edge: what is lost, by
// a law up to most mm, and normal noise.
type mixture struct {
	law      []slab
	most, sd float64
}

// below returns the share of samples less than x mm outside the clean edge.
func (m mixture) below(x float64) float64 {
	p := 0.0
	if m.law == nil {
		p = 0.5 * math.Erfc(-x/m.sd/math.Sqrt2)
	} else {
		z := (x + m.most*m.law[0].from) / m.sd
		before := normalRamp(z)
		for _, s := range m.law { // each begins where the one before it ends
			y := (x + m.most*s.to) / m.sd
			r := normalRamp(y)
			p += s.share * (r - before) / (y - z)
			z, before = y, r
		}
	}
	p *= 1 - threadShare
	if x > 0 {
		p += threadShare * (1 - math.Exp(-x))
	}
	return p
}

// normalRamp is the integral of the normal distribution function up to z.
func normalRamp(z float64) float64 {
	switch {
	case z < -6:
		return 0
	case z > 6:
		return z
	}
	return z*0.5*math.Erfc(-z/math.Sqrt2) + math.Exp(-z*z/2)/math.Sqrt(2*math.Pi)
}

// median returns the value that half of the samples are below.
func (m mixture) median() float64 {
	lo, hi := -m.most-m.sd, m.sd
	for range 12 {
		if x := (lo + hi) / 2; m.below(x) < 0.5 {
			lo = x
		} else {
			hi = x
		}
	}
	return (lo + hi) / 2
}

// histogram holds the shares of residuals between rising limits about their
// median, at least sigma to either side; the first and the last are open.
type histogram struct {
	limits, shares []float64
}

func newHistogram(res []float64, sigma float64) histogram {
	v := slices.Clone(res)
	slices.Sort(v)
	mid := quantile(v, 0.5)
	const bins = 24
	lo, hi := math.Min(quantile(v, 0.01), mid-sigma), math.Max(quantile(v, 0.99), mid+sigma)
	h := histogram{shares: make([]float64, bins)}
	for i := 1; i < bins; i++ {
		h.limits = append(h.limits, lo-mid+(hi-lo)*float64(i-1)/(bins-2))
	}
	for _, x := range v {
		i, _ := slices.BinarySearch(h.limits, x-mid)
		h.shares[i] += 1 / float64(len(v))
	}
	return h
}

// fit returns the mean logarithm of the likelihood of a sample if the median of
// the samples is mid mm outside the clean edge.
func (h histogram) fit(m mixture, mid float64) (log float64) {
	before := 0.0
	for i, share := range h.shares {
		p := 1.0
		if i < len(h.limits) {
			p = m.below(mid + h.limits[i])
		}
		if share > 0 {
			log += share * math.Log((p-before)*(1-oddShare)+oddShare/float64(len(h.shares)))
		}
		before = p
	}
	return log
}
