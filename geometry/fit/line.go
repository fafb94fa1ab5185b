package fit

import (
	"math"

	"secondcut/geometry"
)

// sums holds running sums over the ring, unrolled three times, so that the best
// line through any stretch costs a few operations.
type sums struct {
	n                   int
	o                   geometry.Point
	w, x, y, xx, xy, yy []float64
}

func newSums(p []geometry.Point, w []float64) *sums {
	n := len(p)
	s := &sums{n: n, o: p[0]}
	for _, f := range []*[]float64{&s.w, &s.x, &s.y, &s.xx, &s.xy, &s.yy} {
		*f = make([]float64, 3*n+1)
	}
	for i := range 3 * n {
		q, g := p[i%n].Sub(s.o), w[i%n]
		s.w[i+1] = s.w[i] + g
		s.x[i+1] = s.x[i] + g*q.X
		s.y[i+1] = s.y[i] + g*q.Y
		s.xx[i+1] = s.xx[i] + g*q.X*q.X
		s.xy[i+1] = s.xy[i] + g*q.X*q.Y
		s.yy[i+1] = s.yy[i] + g*q.Y*q.Y
	}
	return s
}

// chord is the best line (total least squares) through a stretch of the ring.
type chord struct {
	mid geometry.Point
	dir geometry.Vec // unit, along the ring
	rms float64      // distance of the points, mm
}

// line fits the points i to j-1, -n <= i < j <= 2n. ok is false when there are
// fewer than two effective points or they coincide.
func (s *sums) line(p []geometry.Point, i, j int) (c chord, ok bool) {
	a, b := i+s.n, j+s.n
	if a < 0 || b > 3*s.n || b-a < 2 {
		return c, false
	}
	w := s.w[b] - s.w[a]
	if w < 1e-6 {
		return c, false
	}
	mx, my := (s.x[b]-s.x[a])/w, (s.y[b]-s.y[a])/w
	xx := (s.xx[b]-s.xx[a])/w - mx*mx
	xy := (s.xy[b]-s.xy[a])/w - mx*my
	yy := (s.yy[b]-s.yy[a])/w - my*my
	half := math.Hypot((xx-yy)/2, xy)
	if half < 1e-15 {
		return c, false
	}
	sin, cos := math.Sincos(math.Atan2(2*xy, xx-yy) / 2)
	c.mid, c.dir = s.o.Add(geometry.Vec{X: mx, Y: my}), geometry.Vec{X: cos, Y: sin}
	if p[(b-1)%s.n].Sub(p[a%s.n]).Dot(c.dir) < 0 {
		c.dir = c.dir.Scale(-1)
	}
	c.rms = math.Sqrt(math.Max(0, (xx+yy)/2-half))
	return c, true
}

// turn returns the signed angle from a to b in radians, left turns positive.
func turn(a, b geometry.Vec) float64 { return math.Atan2(a.Cross(b), a.Dot(b)) }
