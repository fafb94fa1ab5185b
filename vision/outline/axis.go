package outline

import "math"

// Where the levels of both sides are read, in mm beyond the path, and over which
// lengths along it. Tuned on rendered photos.
const (
	levelMM  = 1.2  // depth of the strip on each side
	gapMM    = 0.6  // from the path to the cloth's strip, at least
	ownMM    = 1.5  // either side along the path: level of the sample itself
	sharedMM = 4.0  // either side along the path: scatter
	shadow   = 0.15 // standard deviation of the ground's light next to cloth, its shade apart
	noise    = 1.5  // standard deviation of a colour value, at least, 0..255
)

// axis reads a colour of one profile as share of cloth: 1 on the cloth, 0 on the
// ground. contrast is the distance of the two in standard deviations. shade is what
// the darkest of the ground beside the cloth reads, and level the part of the shade
// that is left where the ground's level is read, which is why the ground without any
// reads -level*shade.
type axis struct {
	w            [3]float64
	zero         float64
	contrast     float64
	shade, level float64
	ok           bool
}

// share returns the share of cloth that a colour shows.
func (a *axis) share(c colour) float64 {
	return a.w[0]*float64(c[0]) + a.w[1]*float64(c[1]) + a.w[2]*float64(c[2]) - a.zero
}

// axes finds Fisher's direction for every profile. gap is how far from the path
// the cloth's strip begins, in mm; the ground's begins gapMM further out, beyond
// the darkest of the shadow.
func axes(b *band, at []float64, gap float64) []axis {
	deep := math.Max(levelMM, 2*gap)
	cloth, ground := runningOver(b, at, -gap-deep, -gap), runningOver(b, at, gap+gapMM, gap+gapMM+deep)
	shade, level := shades(b, at, gap), meanShade(gap+gapMM, gap+gapMM+deep)
	own, shared := max(1, int(ownMM/b.step)), max(1, int(sharedMM/b.step))
	out := make([]axis, len(b.at))
	for i := range out {
		c, g := cloth.round(i, own), ground.round(i, own)
		if c.n < 4 || g.n < 4 {
			continue
		}
		cw, gw := cloth.round(i, shared), ground.round(i, shared)
		out[i] = fisher(c.mean(), g.mean(), cw.cov(), gw.cov())
		out[i].shade, out[i].level = -out[i].zero*shade[i]/(1-shade[i]*level), level
	}
	return out
}

// fisher returns the axis between two means that best tells them apart in the
// given scatter. Darkening scales the ground's colour: it is one more direction
// of scatter.
func fisher(cloth, ground [3]float64, a, b [3][3]float64) axis {
	var d [3]float64
	for i := range 3 {
		for j := range 3 {
			a[i][j] = (a[i][j]+b[i][j])/2 + shadow*shadow*ground[i]*ground[j]
		}
		a[i][i] += noise * noise
		d[i] = cloth[i] - ground[i]
	}
	w := solve3(a, d)
	s := dot(w, d)
	if !(s > 0.1) {
		return axis{}
	}
	for i := range w {
		w[i] /= s
	}
	return axis{w: w, zero: dot(w, ground), contrast: math.Sqrt(s), ok: true}
}
