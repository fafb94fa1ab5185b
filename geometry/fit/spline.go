package fit

import (
	"math"
	"sort"

	"secondcut/geometry"
)

// spline is a parametric cubic B-spline with simple inner breaks (C2), clamped
// at both ends. Outside its range it runs on straight.
type spline struct {
	breaks []float64      // k+1 of them, rising
	c      []geometry.Vec // k+3 control points relative to o
	o      geometry.Point
}

// knot returns entry i of the clamped knot vector.
func (s *spline) knot(i int) float64 {
	return s.breaks[min(max(i-3, 0), len(s.breaks)-1)]
}

// basis returns the interval of u and the values and derivatives of the four
// basis functions there (de Boor's recurrence).
func (s *spline) basis(u float64) (k int, b, d [4]float64) {
	k = min(max(sort.SearchFloat64s(s.breaks, u)-1, 0), len(s.breaks)-2)
	i := k + 3
	var left, right [4]float64
	b[0] = 1
	for j := 1; j <= 3; j++ {
		left[j], right[j] = u-s.knot(i+1-j), s.knot(i+j)-u
		if j == 3 {
			// Derivatives come from the quadratic functions.
			q := [3]float64{b[0], b[1], b[2]}
			for m := range 3 {
				f := 3 * q[m] / (s.knot(i+1+m) - s.knot(i-2+m))
				d[m] -= f
				d[m+1] += f
			}
		}
		var saved float64
		for m := range j {
			t := b[m] / (right[m+1] + left[j-m])
			b[m] = saved + right[m+1]*t
			saved = left[j-m] * t
		}
		b[j] = saved
	}
	return k, b, d
}

// at returns the point and the derivative at u.
func (s *spline) at(u float64) (geometry.Point, geometry.Vec) {
	lo, hi := s.breaks[0], s.breaks[len(s.breaks)-1]
	v := math.Max(lo, math.Min(hi, u))
	k, b, d := s.basis(v)
	var p, t geometry.Vec
	for m := range 4 {
		p = p.Add(s.c[k+m].Scale(b[m]))
		t = t.Add(s.c[k+m].Scale(d[m]))
	}
	return s.o.Add(p).Add(t.Scale(u - v)), t
}

// fit sets the control points to the weighted least squares solution for the
// points p at parameters u.
func (s *spline) fit(p []geometry.Point, u, w []float64) bool {
	m := len(s.breaks) + 2
	s.o = p[len(p)/2]
	a := make([][]float64, m)
	buf := make([]float64, m*m)
	for i := range a {
		a[i] = buf[i*m : (i+1)*m]
	}
	x, y := make([]float64, m), make([]float64, m)
	for j, q := range p {
		k, b, _ := s.basis(u[j])
		d := q.Sub(s.o)
		for i := range 4 {
			g := w[j] * b[i]
			x[k+i] += g * d.X
			y[k+i] += g * d.Y
			for l := range i + 1 {
				a[k+i][k+l] += g * b[l]
			}
		}
	}
	s.stiffen(a)
	if !solve(a, x, y) {
		return false
	}
	s.c = make([]geometry.Vec, m)
	for i := range s.c {
		s.c[i] = geometry.Vec{X: x[i], Y: y[i]}
	}
	return true
}

// stiffen adds a faint cost of bending between control points to the normal
// equations, so that a stretch with hardly any data stays calm. The weight is
// small against that of a few samples.
func (s *spline) stiffen(a [][]float64) {
	const weight = 0.01
	g := func(i int) float64 { return (s.knot(i+1) + s.knot(i+2) + s.knot(i+3)) / 3 }
	for i := 1; i+1 < len(a); i++ {
		before, after := 1/(g(i)-g(i-1)), 1/(g(i+1)-g(i))
		f := [3]float64{before, -before - after, after}
		for k := range 3 {
			for l := range k + 1 {
				a[i-1+k][i-1+l] += weight * f[k] * f[l]
			}
		}
	}
}

// straight sets the spline to the best line through the points. It keeps one
// interval.
func (s *spline) straight(p []geometry.Point, u, w []float64) bool {
	var sw, su, suu float64
	var sp, sup geometry.Vec
	s.o = p[len(p)/2]
	for j, q := range p {
		d := q.Sub(s.o)
		sw += w[j]
		su += w[j] * u[j]
		sp = sp.Add(d.Scale(w[j]))
	}
	if sw <= 0 {
		return false
	}
	mu, mean := su/sw, sp.Scale(1/sw)
	var xx, xy, yy float64
	for j, q := range p {
		d, e := q.Sub(s.o).Add(mean.Scale(-1)), u[j]-mu
		suu += w[j] * e * e
		sup = sup.Add(d.Scale(w[j] * e))
		xx += w[j] * d.X * d.X
		xy += w[j] * d.X * d.Y
		yy += w[j] * d.Y * d.Y
	}
	if suu <= 0 {
		return false
	}
	sin, cos := math.Sincos(math.Atan2(2*xy, xx-yy) / 2)
	dir := geometry.Vec{X: cos, Y: sin}
	speed := sup.Dot(dir) / suu
	if speed == 0 {
		return false
	}
	lo, hi := u[0], u[len(u)-1]
	s.breaks = []float64{lo, hi}
	s.c = make([]geometry.Vec, 4)
	for i := range s.c {
		v := lo + (hi-lo)*float64(i)/3
		s.c[i] = mean.Add(dir.Scale(speed * (v - mu)))
	}
	return true
}

// insert adds a break, which must lie inside the range.
func (s *spline) insert(u float64) {
	i := sort.SearchFloat64s(s.breaks, u)
	b := make([]float64, 0, len(s.breaks)+1)
	b = append(b, s.breaks[:i]...)
	b = append(b, u)
	s.breaks = append(b, s.breaks[i:]...)
}
