package outline

import "math"

// Where the levels of both sides are read, in mm beyond the path, and over which
// lengths along it. Tuned on rendered photos.
const (
	levelMM  = 1.2  // depth of the strip on each side
	gapMM    = 0.6  // from the path to the cloth's strip, at least
	ownMM    = 1.5  // either side along the path: level of the sample itself
	sharedMM = 4.0  // either side along the path: scatter
	shadow   = 0.06 // standard deviation of the ground's light from sample to sample
	noise    = 1.5  // standard deviation of a coded colour value, at least, 0..255
)

// axis reads a colour of one profile as one value, along the direction of colour
// that best tells cloth from the ground beside it: 0 is open ground. It knows
// what a profile looks like along it.
type axis struct {
	w           [3]float64
	zero, high  float64 // reading of open ground, and of cloth above it
	contrast    float64 // distance of both at the edge in standard deviations
	at, bias    float64 // of the stretch
	blur        float64 // mm
	rough       float64 // share of the cloth in the noise of both sides
	cloth, open []float64
	table       *shapeTable
	ok          bool
}

// share reads a colour.
func (a *axis) share(c colour) float64 {
	return a.w[0]*float64(c[0]) + a.w[1]*float64(c[1]) + a.w[2]*float64(c[2]) - a.zero
}

// expect returns the reading x mm beyond the edge, its slope, and how much of what
// is seen there is cloth.
func (a *axis) expect(x float64) (value, slope, on float64) {
	f := (x + a.table.reach) / a.table.step
	f = min(max(f, 0), float64(len(a.cloth))-1.001)
	i := int(f)
	f -= float64(i)
	high := a.high + a.zero
	u := high*a.cloth[i] + a.zero*a.open[i]
	d := high*a.cloth[i+1] + a.zero*a.open[i+1] - u
	return u + d*f - a.zero, d / a.table.step, a.table.value[clothFlat][i]
}

// axes finds Fisher's direction for every profile.
func (r *reading) axes(all []stretch) []axis {
	own, shared := max(1, int(ownMM/r.step)), max(1, int(sharedMM/r.step))
	n := len(r.at)
	out := make([]axis, n)
	for i := range out {
		c, g := r.cloth.round(i, own), r.ground.round(i, own)
		s, at, doubt := between(all, i, n)
		if c.n < 4 || g.n < 4 || !s.ok {
			continue
		}
		cw, gw := r.cloth.round(i, shared), r.ground.round(i, shared)
		out[i] = fisher(c.mean(), g.mean(), r.noisy(cw), r.noisy(gw), s.dim())
		out[i].at, out[i].bias, out[i].blur = at, doubt, s.blur
		out[i].cloth, out[i].open, out[i].table = s.cloth, s.open, s.table
	}
	return out
}

// noisy returns the covariance of the colours of one side, with the noise of a
// photo that they may not show: it is even in coded values.
func (r *reading) noisy(m moments) [3][3]float64 {
	c, u := m.cov(), m.mean()
	for i := range c {
		d := noise * r.power * math.Pow(math.Max(u[i], 1)/255, 1-1/r.power)
		c[i][i] += d * d
	}
	return c
}

// between returns the stretch that profile i lies in, and the place and doubt of
// the edge between the middles of the stretches.
func between(all []stretch, i, n int) (s *stretch, at, doubt float64) {
	m := len(all)
	f := (float64(i)+0.5)*float64(m)/float64(n) - 0.5
	k := int(math.Floor(f))
	f -= float64(k)
	a, b := &all[(k+m)%m], &all[(k+1)%m]
	switch {
	case !a.ok:
		return b, b.at, b.doubt
	case !b.ok:
		return a, a.at, a.doubt
	}
	s = a
	if f > 0.5 {
		s = b
	}
	return s, a.at + (b.at-a.at)*f, a.doubt + (b.doubt-a.doubt)*f
}

// fisher returns the axis between cloth and ground, of which next to the edge
// only dim is left, that best tells them apart in the given scatter. A change of
// light scales the ground's colour, and hue is stored coarsely: two more
// directions of scatter.
func fisher(cloth, ground [3]float64, a, b [3][3]float64, dim float64) axis {
	var d, g [3]float64
	for i := range 3 {
		g[i] = dim * ground[i]
		d[i] = cloth[i] - g[i]
	}
	h := hueStep(cloth, g)
	both := a
	for i := range 3 {
		for j := range 3 {
			both[i][j] = (a[i][j]+b[i][j])/2 + shadow*shadow*ground[i]*ground[j] + coarseHue*coarseHue*h[i]*h[j]
		}
	}
	w := solve3(both, d)
	s := dot(w, d)
	if !(s > 0.1) {
		return axis{}
	}
	for i := range w {
		w[i] /= s
	}
	zero := dot(w, ground)
	own, other := dot(w, times(a, w)), dot(w, times(b, w))
	return axis{w: w, rough: own / (own + other), zero: zero, high: dot(w, cloth) - zero, contrast: math.Sqrt(s), ok: true}
}
