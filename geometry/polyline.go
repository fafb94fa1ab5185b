package geometry

import "math"

// Polyline is a closed ring of points in millimetres; the last point is joined
// to the first and is not repeated.
type Polyline []Point

// Area returns the signed area in square millimetres, positive when the ring
// runs counter-clockwise (shoelace formula).
func (p Polyline) Area() float64 {
	var a float64
	for i, q := range p {
		n := p[(i+1)%len(p)]
		a += q.X*n.Y - n.X*q.Y
	}
	return a / 2
}

// Length returns the length of the closed ring in millimetres.
func (p Polyline) Length() float64 {
	var l float64
	for i, q := range p {
		l += q.Dist(p[(i+1)%len(p)])
	}
	return l
}

// Bounds returns the lower left and upper right corners of the smallest upright
// rectangle round the points; both are zero for no points.
func (p Polyline) Bounds() (lo, hi Point) {
	if len(p) == 0 {
		return
	}
	lo, hi = p[0], p[0]
	for _, q := range p[1:] {
		lo = Point{math.Min(lo.X, q.X), math.Min(lo.Y, q.Y)}
		hi = Point{math.Max(hi.X, q.X), math.Max(hi.Y, q.Y)}
	}
	return
}

// Map returns the ring with each point replaced by its image.
func (p Polyline) Map(f func(Point) Point) Polyline {
	out := make(Polyline, len(p))
	for i, q := range p {
		out[i] = f(q)
	}
	return out
}

// Contains reports whether q lies inside the ring (even-odd rule). Points
// exactly on the ring may count as either.
func (p Polyline) Contains(q Point) bool {
	in := false
	for i, a := range p {
		b := p[(i+1)%len(p)]
		if (a.Y > q.Y) != (b.Y > q.Y) && q.X < a.X+(b.X-a.X)*(q.Y-a.Y)/(b.Y-a.Y) {
			in = !in
		}
	}
	return in
}

// Dist returns how far q lies from the closed polyline, in mm.
func (p Polyline) Dist(q Point) float64 {
	_, dist := p.Nearest(q)
	return dist
}

// Nearest returns the point of the closed polyline that is nearest to q, and its distance
// in mm.
func (p Polyline) Nearest(q Point) (at Point, dist float64) {
	dist = math.Inf(1)
	for i, a := range p {
		s := Segment{A: a, D: p[(i+1)%len(p)]}
		if t, d := s.Nearest(q); d < dist {
			at, dist = s.At(t), d
		}
	}
	return at, dist
}
