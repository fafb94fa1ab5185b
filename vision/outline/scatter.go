package outline

import "math"

// scatterMM is how much of the edge on either side tells the noise of a sample.
const scatterMM = 8.0

// scatter returns, for every profile, the variance of the place of an edge of
// the given blur, times the squared length of the fit's derivative: noise and
// texture of cloth and ground, read well away from the edge, where fray is not
// mistaken for them. Texture is wider than a pixel and chroma is stored coarsely,
// so that neighbours share most of it: their covariance counts by how far the
// fit's weights overlap, for a Gaussian blur exp(-d*d/(4*blur*blur)) at d apart.
// The levels of both sides are read a little way off: by how much they change over
// as much of the edge as they are read from, they may be wrong where it counts,
// and an error of the level moves the edge by sqrt(pi)*blur times as much.
func scatter(b *band, at []float64, ax []axis, blur, gap float64) []float64 {
	n := len(b.at)
	step := b.offsets[1] - b.offsets[0]
	deep := math.Max(levelMM, math.Max(2*gap, 3*blur))
	sum, count := make([]float64, n+1), make([]float64, n+1)
	rows := make([]float64, n)
	cloth, ground := runningOver(b, at, -gap-deep, -gap), runningOver(b, at, gap+gapMM, gap+gapMM+deep)
	own := max(1, int(ownMM/b.step))
	perLevel := math.Sqrt(math.Pi) * blur / (2 * step)
	parallel(n, func(from, to int) {
		for i := from; i < to; i++ {
			if ax[i].ok {
				rows[i] = (b.overlapped(i, at[i]-gap-deep, at[i]-gap, 1, &ax[i], blur, step)+
					b.overlapped(i, at[i]+gap+gapMM, at[i]+gap+gapMM+deep, 0, &ax[i], blur, step))/2 +
					perLevel*(drift(cloth, i, own, 1, &ax[i])+drift(ground, i, own, 0, &ax[i]))
			}
		}
	})
	for i, v := range rows {
		sum[i+1], count[i+1] = sum[i]+v, count[i]
		if ax[i].ok {
			count[i+1]++
		}
	}
	out := make([]float64, n)
	half := max(1, int(scatterMM/b.step))
	for i := range out {
		lo, hi := max(0, i-half), min(n, i+half+1)
		out[i] = (sum[hi] - sum[lo]) / math.Max(count[hi]-count[lo], 1)
	}
	return out
}

// overlapped sums the covariances of the readings of profile i between two
// offsets about their level, weighted as scatter says.
func (b *band) overlapped(i int, lo, hi, level float64, ax *axis, blur, step float64) float64 {
	m := len(b.offsets)
	k0 := max(0, int(math.Ceil((lo-b.offsets[0])/step)))
	k1 := min(m-1, int(math.Floor((hi-b.offsets[0])/step)))
	if k1-k0 < 2 {
		return 0
	}
	var buf [64]float64
	r := buf[:0]
	for k := k0; k <= k1 && len(r) < len(buf); k++ {
		if !b.seen[i*m+k] {
			return 0
		}
		r = append(r, ax.share(b.px[i*m+k])-level)
	}
	total := 0.0
	for lag := range r {
		w := math.Exp(-float64(lag*lag) * step * step / (4 * blur * blur))
		if w < 0.01 {
			break
		}
		if lag > 0 {
			w *= 2
		}
		c := 0.0
		for k := lag; k < len(r); k++ {
			c += r[k] * r[k-lag]
		}
		total += w * c / float64(len(r)-lag)
	}
	return total
}

// mostDrift bounds what a change of level may say: the border of a stripe is no
// texture.
const mostDrift = 0.04

// drift returns the variance of a level between stretches of own profiles to
// either side, next to each other about profile i, as share of cloth.
func drift(r running, i, own int, level float64, ax *axis) float64 {
	n := len(r) - 1
	next := r.round((i+2*own+1)%n, own)
	if next.n < 4 {
		return 0
	}
	m := next.mean()
	d := ax.share(colour{float32(m[0]), float32(m[1]), float32(m[2])}) - level
	return math.Min(d*d/2, mostDrift)
}
