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
	// cornered says that both ends are corners, where the tangent is free.
	cornered bool
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
// squares for the handles, parameters improved by Newton steps (Schneider 1990).
// It returns the greatest distance of the points, mm.
func (c *course) bezier(i, j int) (geometry.Segment, float64) {
	a, d := c.p[i], c.p[j]
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
	free := [2]bool{c.cornered && i == 0, c.cornered && j == len(c.p)-1}
	for range 5 {
		seg.B, seg.C = c.handles(idx, u, seg, [2]geometry.Vec{c.t[i], c.t[j].Scale(-1)}, free, length)
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

// handles solves for the two inner control points of seg: along the tangents t
// or, where free, anywhere. Where the solution makes no sense the handles are a
// third of the length.
func (c *course) handles(idx []int, u []float64, seg geometry.Segment, t [2]geometry.Vec, free [2]bool, length float64) (b, d geometry.Point) {
	var dirs []geometry.Vec // of the unknowns
	var side []int
	for k := range 2 {
		dirs, side = append(dirs, t[k]), append(side, k)
		if free[k] {
			dirs, side = append(dirs, t[k].Perp()), append(side, k)
		}
	}
	n := len(dirs)
	m := make([][]float64, n)
	for k := range m {
		m[k] = make([]float64, n)
	}
	x := make([]float64, n)
	for i, k := range idx {
		s, v := u[i], 1-u[i]
		f := [2]float64{3 * v * v * s, 3 * v * s * s}
		e := c.p[k].Sub(seg.A.Lerp(seg.D, f[1]+s*s*s))
		for p := range n {
			x[p] += f[side[p]] * dirs[p].Dot(e)
			for q := range p + 1 {
				m[p][q] += f[side[p]] * f[side[q]] * dirs[p].Dot(dirs[q])
			}
		}
	}
	h := [2]geometry.Vec{t[0].Scale(length / 3), t[1].Scale(length / 3)}
	if len(idx) >= n && solve(m, x) {
		var v [2]geometry.Vec
		for p := range n {
			v[side[p]] = v[side[p]].Add(dirs[p].Scale(x[p]))
		}
		good := true
		for k := range 2 {
			l := v[k].Len()
			good = good && v[k].Dot(t[k]) > 0.9*l && l > 0.02*length && l < 1.5*length
		}
		if good {
			h = v
		}
	}
	return seg.A.Add(h[0]), seg.D.Add(h[1])
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
