package fit

import (
	"math"

	"secondcut/geometry"
)

// course is a clean curve given by close points and unit tangents.
type course struct {
	p []geometry.Point
	t []geometry.Vec
	l []float64 // arc length of each point, mm
}

func (c *course) add(p geometry.Point, t geometry.Vec) {
	if n := len(c.p); n == 0 {
		c.l = append(c.l, 0)
	} else {
		c.l = append(c.l, c.l[n-1]+p.Dist(c.p[n-1]))
	}
	c.p, c.t = append(c.p, p), append(c.t, t.Unit())
}

// bezier fits one cubic to the points i to j with the tangents there: least
// squares for the two handle lengths, parameters improved by Newton steps
// (Schneider 1990). It returns the greatest distance of the points, mm.
func (c *course) bezier(i, j int) (geometry.Segment, float64) {
	a, d := c.p[i], c.p[j]
	ta, td := c.t[i], c.t[j].Scale(-1)
	length := c.l[j] - c.l[i]
	seg := geometry.Segment{A: a, D: d, Curved: true}
	stride := max(1, (j-i)/24)
	var idx []int
	for k := i + stride; k < j; k += stride {
		idx = append(idx, k)
	}
	u := make([]float64, len(idx))
	for m, k := range idx {
		u[m] = (c.l[k] - c.l[i]) / math.Max(length, 1e-12)
	}
	best, bestErr := seg, math.Inf(1)
	for range 5 {
		alpha, beta := c.handles(idx, u, a, d, ta, td, length)
		seg.B, seg.C = a.Add(ta.Scale(alpha)), d.Add(td.Scale(beta))
		worst := 0.0
		for m, k := range idx {
			worst = math.Max(worst, c.newton(seg, k, &u[m]))
		}
		if worst < bestErr {
			best, bestErr = seg, worst
		}
	}
	if len(idx) == 0 {
		bestErr = 0
	}
	return best, bestErr
}

// handles solves for the handle lengths; where the solution makes no sense it
// takes a third of the length.
func (c *course) handles(idx []int, u []float64, a, d geometry.Point, ta, td geometry.Vec, length float64) (alpha, beta float64) {
	var m11, m12, m22, x1, x2 float64
	for m, k := range idx {
		t := u[m]
		v := 1 - t
		b1, b2, b3 := 3*v*v*t, 3*v*t*t, t*t*t
		a1, a2 := ta.Scale(b1), td.Scale(b2)
		q := a.Lerp(d, b2+b3)
		e := c.p[k].Sub(q)
		m11 += a1.Dot(a1)
		m12 += a1.Dot(a2)
		m22 += a2.Dot(a2)
		x1 += a1.Dot(e)
		x2 += a2.Dot(e)
	}
	det := m11*m22 - m12*m12
	if math.Abs(det) > 1e-12*(1+m11*m22) {
		alpha, beta = (x1*m22-x2*m12)/det, (x2*m11-x1*m12)/det
	}
	if !(alpha > 0.02*length && beta > 0.02*length && alpha < 1.5*length && beta < 1.5*length) {
		return length / 3, length / 3
	}
	return alpha, beta
}

// newton moves u to the foot of point k on the segment and returns the distance
// across the curve.
func (c *course) newton(s geometry.Segment, k int, u *float64) float64 {
	for range 2 {
		q, d := s.At(*u), s.Deriv(*u)
		v := c.p[k].Sub(q)
		if l2 := d.Dot(d); l2 > 1e-12 {
			*u = math.Max(0, math.Min(1, *u+v.Dot(d)/l2))
		}
	}
	return c.p[k].Dist(s.At(*u))
}

// split returns the indices at which the fewest cubics within tol join, first
// and last included. Each reaches as far as it can; then the tolerance is made
// as small as that number allows, which evens them out.
func (c *course) split(tol float64) []int {
	best := c.greedy(tol, len(c.p))
	if len(best) <= 2 {
		return best
	}
	lo, hi := 0.0, tol
	for range 3 {
		mid := (lo + hi) / 2
		if try := c.greedy(mid, len(best)); try != nil {
			best, hi = try, mid
		} else {
			lo = mid
		}
	}
	return best
}

// greedy returns nil when more than most indices would be needed.
func (c *course) greedy(tol float64, most int) []int {
	last := len(c.p) - 1
	out := []int{0}
	reach := last
	for at := 0; at < last; {
		fits := func(j int) bool { _, e := c.bezier(at, j); return e <= tol }
		good, bad := at+1, last+1
		if fits(last) {
			good = last
		} else {
			bad = last
			// Begin the search near the reach of the cubic before.
			if j := min(at+reach, last-1); j > good && fits(j) {
				good = j
			} else if j > good {
				bad = j
			}
		}
		for bad-good > 1 && good < last {
			if m := (good + bad) / 2; fits(m) {
				good = m
			} else {
				bad = m
			}
		}
		reach = good - at
		at = good
		out = append(out, at)
		if len(out) > most {
			return nil
		}
	}
	return out
}
