package outline

import "math"

// The ground is darker right beside cloth: at the foot of an upright edge of
// height t half of the sky is hidden, at d from it the share (1-d/hypot(d, t))/2.
// exp(-d/t) follows that course to a twelfth of its greatest value. The height is
// that of usual cloth.
const (
	shadeMM   = 0.6  // t
	shadeFar  = 1.2  // from the strip next to the edge to the one it is compared with
	aboutMM   = 20.0 // either side along the path: how much is averaged
	mostShade = 0.2  // of the ground's light right at the edge, in softened values
	unknown   = 0.06 // ratio of what strips are uncertain by to what shades usually are
)

// shades returns by which part the ground is darker right at the cloth, for every
// profile. It is measured from the edge's blur outward, where fray does not reach,
// by how much a strip near the edge is darker than one further out, and grows from
// there to the edge by the course above. Where the strips lie so far out that they
// say little (coarse photos), less is made of it, and in the end nothing.
func shades(b *band, at []float64, gap float64) []float64 {
	out := make([]float64, len(b.at))
	differ := meanShade(gap, gap+gapMM) - meanShade(gap+shadeFar, gap+2*shadeFar)
	if differ < unknown/2 {
		return out
	}
	near, far := runningOver(b, at, gap, gap+gapMM), runningOver(b, at, gap+shadeFar, gap+2*shadeFar)
	perDrop := differ / (differ*differ + unknown*unknown)
	about := max(1, int(aboutMM/b.step))
	for i := range out {
		n, f := near.round(i, about), far.round(i, about)
		if n.n < 4 || f.n < 4 {
			continue
		}
		drop := 1 - light(n.mean())/math.Max(light(f.mean()), 1)
		out[i] = math.Min(math.Max(drop*perDrop, 0), mostShade)
	}
	return out
}

// light returns the lightness of a colour, 0..255.
func light(c [3]float64) float64 { return (c[0] + 2*c[1] + c[2]) / 4 }

// meanShade returns the mean of the shade's course from lo to hi mm off the edge.
func meanShade(lo, hi float64) float64 {
	return shadeMM * (math.Exp(-lo/shadeMM) - math.Exp(-hi/shadeMM)) / (hi - lo)
}

// newShade tabulates the shade's course, nought on the cloth and 1 at the foot of
// its edge, blurred by a Gaussian of blur mm, over distance in multiples of blur.
func newShade(blur float64) *step {
	s := new(step)
	q := blur / shadeMM
	for i := range s.value {
		u := stepPlace(i)
		s.value[i] = math.Exp(q*q/2-u*q) * 0.5 * math.Erfc((q-u)/math.Sqrt2)
	}
	return s
}
