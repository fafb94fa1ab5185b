package lay

import (
	"math"

	"secondcut/geometry"
)

// inflation is the part of a shape's area by which it may grow when points are
// dropped: 0.1 % of the cloth at worst, for searches that are several times faster
// on traced curves.
const inflation = 0.001

// outward returns a ring with fewer points that encloses the counter-clockwise ring
// and has at most (1 + inflation) times its area: a reflex point is left out, or an
// edge is replaced by the point in which its neighbours meet, whichever adds least,
// as long as the triangle that is added holds no other point.
func outward(ring geometry.Polyline) geometry.Polyline {
	out := append(geometry.Polyline(nil), ring...)
	budget := inflation * math.Abs(ring.Area())
	for len(out) > 3 {
		least, at := budget, -1
		var by geometry.Point
		var edge bool
		for i := range out {
			if added, ok := dropReflex(out, i); ok && added <= least {
				least, at, edge = added, i, false
			}
			if added, p, ok := dropEdge(out, i); ok && added <= least {
				least, at, by, edge = added, i, p, true
			}
		}
		if at < 0 {
			break
		}
		budget -= least
		if edge {
			out[at] = by
			at = (at + 1) % len(out)
		}
		out = append(out[:at], out[at+1:]...)
	}
	return out
}

// dropReflex returns the area that is added by leaving out a reflex point, or a
// point on a straight line.
func dropReflex(p geometry.Polyline, i int) (added float64, ok bool) {
	t := turn(p, i)
	if t > 0 {
		return 0, false
	}
	return -t / 2, clear(p, after(p, i), p[i], before(p, i))
}

// dropEdge returns the point that replaces the edge from i to the next point, and
// the area that this adds; not where its ends are not both convex or its neighbours
// do not meet.
func dropEdge(p geometry.Polyline, i int) (added float64, meet geometry.Point, ok bool) {
	n := len(p)
	if n < 4 || turn(p, i) <= 0 || turn(p, (i+1)%n) <= 0 {
		return 0, meet, false
	}
	a, b := p[i], after(p, i)
	u, v := a.Sub(before(p, i)), after(p, (i+1)%n).Sub(b)
	den := u.Cross(v)
	if den <= 1e-12*u.Len()*v.Len() {
		return 0, meet, false
	}
	meet = a.Add(u.Scale(b.Sub(a).Cross(v) / den))
	added = meet.Sub(a).Cross(b.Sub(a)) / 2
	if added < 0 || !meet.IsFinite() {
		return 0, meet, false
	}
	return added, meet, clear(p, a, meet, b)
}

// clear reports whether no point of the ring lies in the triangle a b c, which runs
// counter-clockwise, but for its corners.
func clear(p geometry.Polyline, a, b, c geometry.Point) bool {
	for _, q := range p {
		if q == a || q == b || q == c {
			continue
		}
		if b.Sub(a).Cross(q.Sub(a)) >= 0 && c.Sub(b).Cross(q.Sub(b)) >= 0 && a.Sub(c).Cross(q.Sub(c)) >= 0 {
			return false
		}
	}
	return true
}
