package offset

import (
	"math"

	"secondcut/geometry"
)

// base is a segment of the stitch line with the distance at its start and the
// change of distance per mm along it.
type base struct {
	seg    geometry.Segment
	d0, m  float64
	length float64
	arc    []float64 // arc length at even parameters, only for m != 0 on curves
}

const arcSteps = 16

// newBase prepares s; length is its arc length in mm.
func newBase(s geometry.Segment, length, d0, m float64) base {
	b := base{seg: s, d0: d0, m: m, length: length}
	if m == 0 || !s.Curved {
		return b
	}
	b.arc = make([]float64, arcSteps+1)
	for i := range arcSteps {
		b.arc[i+1] = b.arc[i] + speedIntegral(s, float64(i)/arcSteps, float64(i+1)/arcSteps)
	}
	for i := range b.arc { // the ends shall have exactly the distances asked for
		if total := b.arc[arcSteps]; total > 0 && i < arcSteps {
			b.arc[i] *= length / total
		}
	}
	b.arc[arcSteps] = length
	return b
}

// speedIntegral is Gauss's rule with 5 nodes (Abramowitz and Stegun, table 25.4).
func speedIntegral(s geometry.Segment, a, b float64) float64 {
	m, h := (a+b)/2, (b-a)/2
	sum := 0.5688888888888889 * s.Deriv(m).Len()
	for _, n := range [2][2]float64{{0.5384693101056831, 0.4786286704993665}, {0.9061798459386640, 0.2369268850561891}} {
		sum += n[1] * (s.Deriv(m-h*n[0]).Len() + s.Deriv(m+h*n[0]).Len())
	}
	return sum * h
}

// dist returns the distance at parameter t.
func (b *base) dist(t float64) float64 {
	switch {
	case b.m == 0:
		return b.d0
	case b.arc == nil:
		return b.d0 + b.m*b.length*t
	case t >= 1:
		return b.d0 + b.m*b.length
	}
	i := min(max(int(t*arcSteps), 0), arcSteps-1)
	from := float64(i) / arcSteps
	return b.d0 + b.m*math.Min(b.arc[i]+speedIntegral(b.seg, from, t), b.length)
}

// frame returns position, speed, unit tangent and signed curvature (1/mm,
// positive where the line bends left) at t.
func (b *base) frame(t float64) (p geometry.Point, speed float64, tan geometry.Vec, k float64) {
	v := b.seg.Deriv(t)
	p, speed = b.seg.At(t), v.Len()
	switch {
	case t <= 0:
		tan = startDir(b.seg)
	case t >= 1:
		tan = endDir(b.seg)
	default:
		tan = v.Unit()
	}
	if speed > 1e-9 {
		k = v.Cross(b.seg.Deriv2(t)) / (speed * speed * speed)
	}
	return
}

// stretch returns 1 + curvature times distance, the factor by which the parallel
// curve is longer than its base at t. It is negative where the parallel curve
// runs backwards, zero at its cusps (Farouki and Neff 1990).
func (b *base) stretch(t float64) float64 {
	_, _, _, k := b.frame(t)
	return 1 + k*b.dist(t)
}

// offset returns the point beside t and its derivative by t. With T the tangent
// and n the normal to the right, d/ds (p + d n) = (1 + k d) T + m n.
func (b *base) offset(t float64) (geometry.Point, geometry.Vec) {
	p, speed, tan, k := b.frame(t)
	n, d := right(tan), b.dist(t)
	return p.Add(n.Scale(d)), tan.Scale(speed * (1 + k*d)).Add(n.Scale(speed * b.m))
}

// right returns v turned a quarter clockwise: out of a counter-clockwise outline.
func right(v geometry.Vec) geometry.Vec { return geometry.Vec{X: v.Y, Y: -v.X} }

// parallel returns the curve beside the base within tol mm, cusps and backward
// stretches included, and whether there are any.
func (b *base) parallel(tol float64) ([]geometry.Segment, bool) {
	if b.d0 == 0 && b.m == 0 {
		return []geometry.Segment{b.seg}, false
	}
	if !b.seg.Curved {
		p, _ := b.offset(0)
		q, _ := b.offset(1)
		return []geometry.Segment{line(p, q)}, false
	}
	var out []geometry.Segment
	at := b.turnings()
	for i := range len(at) - 1 {
		out = fitCubics(b.offset, at[i], at[i+1], tol, maxHalvings, out)
	}
	return out, len(at) > 2 || b.stretch(0.5) < 0
}

// turnings returns 0, the parameters at which the parallel curve changes
// direction, and 1.
func (b *base) turnings() []float64 {
	const steps = 24
	out := []float64{0}
	t0, g0 := 0.0, b.stretch(0)
	for i := 1; i <= steps; i++ {
		t1 := float64(i) / steps
		g1 := b.stretch(t1)
		if g0*g1 < 0 {
			lo, hi := t0, t1
			for range 40 {
				if m := (lo + hi) / 2; b.stretch(m)*g0 > 0 {
					lo = m
				} else {
					hi = m
				}
			}
			if m := (lo + hi) / 2; m > out[len(out)-1]+1e-9 && m < 1-1e-9 {
				out = append(out, m)
			}
		}
		t0, g0 = t1, g1
	}
	return append(out, 1)
}
