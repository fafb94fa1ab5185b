package lay

import (
	"errors"
	"math"

	"secondcut/geometry"
)

// ErrOutline says that an outline is not a simple ring of at least three points
// that encloses an area.
var ErrOutline = errors.New("the outline is not a simple closed ring")

// convexParts cuts a simple counter-clockwise ring into convex parts that cover
// it exactly: ears are clipped (Meisters, Polygons have ears, 1975) and the
// triangles joined again across every diagonal whose removal leaves a convex
// part (Hertel and Mehlhorn 1983), at most four times the least number of parts.
// It fails with ErrOutline.
func convexParts(ring geometry.Polyline) ([]geometry.Polyline, error) {
	parts, err := triangles(ring)
	if err != nil {
		return nil, err
	}
	for joined := true; joined; {
		joined = false
		for i := 0; i < len(parts) && !joined; i++ {
			for j := i + 1; j < len(parts) && !joined; j++ {
				whole, ok := join(parts[i], parts[j])
				if !ok {
					continue
				}
				parts[i] = whole
				parts = append(parts[:j], parts[j+1:]...)
				joined = true
			}
		}
	}
	return parts, nil
}

// triangles clips ears, the roundest first, so that few slivers arise.
func triangles(ring geometry.Polyline) ([]geometry.Polyline, error) {
	rest := append(geometry.Polyline(nil), ring...)
	var out []geometry.Polyline
	for len(rest) > 3 {
		best, ear := 0.0, -1
		for i := range rest {
			if q := roundness(rest, i); q > best && isEar(rest, i) {
				best, ear = q, i
			}
		}
		if ear < 0 {
			// Points on a line cannot be ears; one of them goes.
			if ear = straightest(rest); ear < 0 {
				return nil, ErrOutline
			}
		} else {
			out = append(out, geometry.Polyline{before(rest, ear), rest[ear], after(rest, ear)})
		}
		rest = append(rest[:ear], rest[ear+1:]...)
	}
	if len(rest) == 3 && rest.Area() > 0 {
		out = append(out, rest)
	}
	if len(out) == 0 {
		return nil, ErrOutline
	}
	return out, nil
}

func before(p geometry.Polyline, i int) geometry.Point { return p[(i+len(p)-1)%len(p)] }
func after(p geometry.Polyline, i int) geometry.Point  { return p[(i+1)%len(p)] }

// turn is twice the signed area of the corner at i.
func turn(p geometry.Polyline, i int) float64 {
	return p[i].Sub(before(p, i)).Cross(after(p, i).Sub(p[i]))
}

// roundness is the area of the corner's triangle over its squared sides: at most
// 0.29, zero for a sliver.
func roundness(p geometry.Polyline, i int) float64 {
	a, b, c := p[i].Sub(before(p, i)), after(p, i).Sub(p[i]), after(p, i).Sub(before(p, i))
	s := a.Dot(a) + b.Dot(b) + c.Dot(c)
	if s == 0 {
		return 0
	}
	return turn(p, i) / s
}

// isEar reports whether no other point of the ring lies in the corner's triangle.
func isEar(p geometry.Polyline, i int) bool {
	a, b, c := before(p, i), p[i], after(p, i)
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

// straightest returns the point that bends the ring least, if that is next to
// nothing; else -1.
func straightest(p geometry.Polyline) int {
	lo, hi := p.Bounds()
	least, at := 1e-9*lo.Dist(hi)*lo.Dist(hi), -1
	for i := range p {
		if t := math.Abs(turn(p, i)); t <= least {
			least, at = t, i
		}
	}
	return at
}

// join joins two convex rings along an edge that they share, if the whole is
// convex.
func join(a, b geometry.Polyline) (geometry.Polyline, bool) {
	for i := range a {
		for j := range b {
			if a[i] != after(b, j) || after(a, i) != b[j] {
				continue
			}
			whole := make(geometry.Polyline, 0, len(a)+len(b)-2)
			for k := range a { // from the end of the shared edge round to its start
				whole = append(whole, a[(i+1+k)%len(a)])
			}
			for k := 1; k < len(b)-1; k++ {
				whole = append(whole, b[(j+1+k)%len(b)])
			}
			return whole, isConvex(whole)
		}
	}
	return nil, false
}

func isConvex(p geometry.Polyline) bool {
	for i := range p {
		if turn(p, i) < 0 {
			return false
		}
	}
	return true
}
