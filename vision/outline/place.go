package outline

import (
	"math"
	"slices"
)

// place is where a sample lies within its profile.
type place struct {
	offset, sigma, bias float64 // mm
	weak                bool
}

// place moves every sample of a path to where its profile passes from cloth to
// ground. It does so twice: the path lies where the colour models balance, which
// may be to one side of the middle of a soft edge, and the levels of both sides
// are read at fixed distances from where the edge is thought to be.
func (t *tracer) place(path found) []place {
	px := t.mmPerPx
	b, ax := t.levels(path, px)
	blur := edgeBlur(b, path.offset, px)
	if wide := blur / softPx; wide > 1.3*px {
		px = wide
		b, ax = t.levels(path, px)
	}
	at, shade := path.offset, newShade(blur)
	out := make([]place, len(b.at))
	spread := make([]float64, len(b.at)) // of the second round alone: the first asks for places only
	for round := range 2 {
		if round > 0 {
			at = shifted(at, out, max(1, int(sharedMM/b.step)))
			ax = axes(b, at, gap(px))
			spread = scatter(b, at, ax, blur, gap(px))
		}
		parallel(len(out), func(from, to int) {
			for i := from; i < to; i++ {
				out[i] = fitStep(b, i, at[i], &ax[i], shade, spread[i], blur, px)
			}
		})
	}
	return out
}

// texture is by how much single samples are less certain than the noise beside
// the edge says: it is not the same right at it. biasPx is what long stretches
// share, in pixels (standard deviation): which values the camera blurs (see
// soft), rounded cut edges, the darkest of a shadow. Both were set on rendered
// photos; on clean edges whole outlines are off by 0.5 px (root mean square).
const (
	texture = 1.2
	biasPx  = 0.5
)

// softPx is the blur, in px, of a photo that is as sharp as its pixels allow
// after compression; a softer one is read as if its pixels were larger.
const softPx = 2.8

// gap is how far from the edge its levels are read, in mm, at px mm a pixel.
func gap(px float64) float64 { return math.Max(gapMM, 2.4*px) }

// levels samples the profiles about a path for pixels of px mm, and finds their
// axes.
func (t *tracer) levels(path found, px float64) (*band, []axis) {
	step := math.Min(math.Max(0.8*px, 0.1), 2)
	reach := math.Max(3, 12*step)
	lo, hi := slices.Min(path.offset)-reach, slices.Max(path.offset)+reach
	b := sample(t.photo, t.view, path.base, span(lo, hi, step), &softened)
	return b, axes(b, path.offset, gap(px))
}

// shifted moves the path at by the mean shift of the good places within near
// profiles, so that single threads do not move it.
func shifted(at []float64, places []place, near int) []float64 {
	n := len(at)
	sum, count := make([]float64, n+1), make([]float64, n+1)
	for i, p := range places {
		sum[i+1], count[i+1] = sum[i], count[i]
		if !p.weak {
			sum[i+1] += p.offset - at[i]
			count[i+1]++
		}
	}
	out := make([]float64, n)
	for i := range out {
		lo, hi := max(0, i-near), min(n, i+near+1)
		out[i] = at[i] + (sum[hi]-sum[lo])/math.Max(count[hi]-count[lo], 1)
	}
	return out
}

// fitStep fits the position of a blurred step of known levels, width and shade to
// one profile (Gauss-Newton; the slope is that of the step alone, so that the shade
// beyond it does not lead).
func fitStep(b *band, i int, start float64, ax *axis, shade *step, spread, blur, px float64) place {
	out := place{offset: start, sigma: unseenSigmaMM, bias: biasPx * px, weak: true}
	if !ax.ok {
		return out
	}
	m, step := len(b.offsets), b.offsets[1]-b.offsets[0]
	reach := 3*px + blur
	var gg, rr, n float64
	x := start
	for range 8 {
		var gr float64
		gg, rr, n = 0, 0, 0
		k0, k1 := int((x-2.5*blur-b.offsets[0])/step), int((x+2.5*blur-b.offsets[0])/step)+1
		for k := max(0, k0); k <= min(m-1, k1); k++ {
			if !b.seen[i*m+k] {
				return out
			}
			u := (b.offsets[k] - x) / blur
			value, slope := unitStep.at(u)
			if ax.shade != 0 {
				dark, _ := shade.at(u)
				value += ax.shade * (dark - ax.level*(1-value))
			}
			g := slope / blur
			r := ax.share(b.px[i*m+k]) - value
			gr += g * r
			gg += g * g
			rr += r * r
			n++
		}
		if gg == 0 {
			return out
		}
		move := math.Min(math.Max(gr/gg, -px), px)
		x = math.Min(math.Max(x+move, start-reach), start+reach)
		if math.Abs(move) < 0.002*px {
			break
		}
	}
	out.offset = x
	// What the profile itself misses may be more than its neighbourhood's noise;
	// its neighbouring values share pixels and texture: half of them count.
	out.sigma = texture*math.Sqrt(math.Max(spread, 2*rr/n)/gg) + 0.05*px
	out.weak = ax.contrast < leastContrast || math.Abs(x-start) >= reach
	return out
}
