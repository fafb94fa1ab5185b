package geometry

import "math"

// Knot is a point of a closed path with its handles. In and Out are absolute
// positions in millimetres, not offsets; a nil handle on both sides of a segment
// makes that segment a straight line. Corner says that the path may turn sharply
// here; a knot that is no corner is smooth.
type Knot struct {
	At     Point  `json:"at"`
	In     *Point `json:"in,omitempty"`
	Out    *Point `json:"out,omitempty"`
	Corner bool   `json:"corner"`
}

// Path is a closed path: knot i is joined to knot i+1 and the last to the first.
type Path []Knot

// Segment is one stretch of a path: the line from A to D, or, when Curved, the
// cubic Bezier with control points A, B, C, D.
type Segment struct {
	A, B, C, D Point
	Curved     bool
}

// Segment returns the stretch that begins at knot i. A missing handle on a
// curved segment coincides with its knot.
func (p Path) Segment(i int) Segment {
	k, n := p[i], p[(i+1)%len(p)]
	s := Segment{A: k.At, B: k.At, C: n.At, D: n.At}
	if k.Out != nil {
		s.B, s.Curved = *k.Out, true
	}
	if n.In != nil {
		s.C, s.Curved = *n.In, true
	}
	return s
}

// Segments returns all stretches in order, one for each knot.
func (p Path) Segments() []Segment {
	out := make([]Segment, len(p))
	for i := range p {
		out[i] = p.Segment(i)
	}
	return out
}

// Length returns the length of the closed path in millimetres, right to 1e-6.
func (p Path) Length() float64 {
	var l float64
	for i := range p {
		l += p.Segment(i).Length()
	}
	return l
}

// Area returns the signed area of the path in square millimetres, exact for
// lines and cubics (Green's theorem).
func (p Path) Area() float64 {
	var a float64
	for i := range p {
		a += p.Segment(i).sweep()
	}
	return a
}

// Flatten returns the path as a ring whose distance from the path is at most
// tol millimetres. Knots are kept exactly.
func (p Path) Flatten(tol float64) Polyline {
	var out Polyline
	for i := range p {
		out = append(out, p.Segment(i).flatten(tol)...)
	}
	return out
}

// Map returns the path with every knot and handle replaced by its image under f.
func (p Path) Map(f func(Point) Point) Path {
	at := func(q *Point) *Point {
		if q == nil {
			return nil
		}
		r := f(*q)
		return &r
	}
	out := make(Path, len(p))
	for i, k := range p {
		out[i] = Knot{At: f(k.At), In: at(k.In), Out: at(k.Out), Corner: k.Corner}
	}
	return out
}

// Corners returns the positions of the knots that are corners.
func (p Path) Corners() []Point {
	var out []Point
	for _, k := range p {
		if k.Corner {
			out = append(out, k.At)
		}
	}
	return out
}

// At returns the point at parameter t in [0, 1].
func (s Segment) At(t float64) Point {
	if !s.Curved {
		return s.A.Lerp(s.D, t)
	}
	u := 1 - t
	a, b, c, d := u*u*u, 3*u*u*t, 3*u*t*t, t*t*t
	return Point{
		a*s.A.X + b*s.B.X + c*s.C.X + d*s.D.X,
		a*s.A.Y + b*s.B.Y + c*s.C.Y + d*s.D.Y,
	}
}

// Deriv returns the derivative by the parameter at t, in millimetres.
func (s Segment) Deriv(t float64) Vec {
	if !s.Curved {
		return s.D.Sub(s.A)
	}
	u := 1 - t
	return s.B.Sub(s.A).Scale(3 * u * u).Add(s.C.Sub(s.B).Scale(6 * u * t)).Add(s.D.Sub(s.C).Scale(3 * t * t))
}

// Deriv2 returns the second derivative by the parameter at t, in millimetres.
func (s Segment) Deriv2(t float64) Vec {
	if !s.Curved {
		return Vec{}
	}
	a := s.C.Sub(s.B).Add(s.A.Sub(s.B))
	b := s.D.Sub(s.C).Add(s.B.Sub(s.C))
	return a.Scale(6 * (1 - t)).Add(b.Scale(6 * t))
}

// Nearest returns the parameter of the point of the segment nearest to q, and its
// distance in mm: the best of 16 samples, improved by Newton steps.
func (s Segment) Nearest(q Point) (t, dist float64) {
	if !s.Curved {
		v := s.D.Sub(s.A)
		if l2 := v.Dot(v); l2 > 0 {
			t = math.Min(math.Max(q.Sub(s.A).Dot(v)/l2, 0), 1)
		}
		return t, q.Dist(s.At(t))
	}
	sample, d := 0.0, math.Inf(1)
	for k := 0; k <= 16; k++ {
		if e := q.Dist(s.At(float64(k) / 16)); e < d {
			sample, d = float64(k)/16, e
		}
	}
	t = sample
	for range 12 {
		v, w := s.Deriv(t), s.At(t).Sub(q)
		h := v.Dot(v) + w.Dot(s.Deriv2(t))
		if h <= 0 {
			h = v.Dot(v)
		}
		if h == 0 {
			break
		}
		u := math.Min(math.Max(t-w.Dot(v)/h, 0), 1)
		if math.Abs(u-t) < 1e-13 {
			break
		}
		t = u
	}
	if e := q.Dist(s.At(t)); e <= d {
		return t, e
	}
	return sample, d // the steps led away from it
}

// Split cuts the segment at t into the parts before and after it (de
// Casteljau).
func (s Segment) Split(t float64) (Segment, Segment) {
	if !s.Curved {
		m := s.At(t)
		return Segment{A: s.A, B: s.A, C: m, D: m}, Segment{A: m, B: m, C: s.D, D: s.D}
	}
	ab, bc, cd := s.A.Lerp(s.B, t), s.B.Lerp(s.C, t), s.C.Lerp(s.D, t)
	abc, bcd := ab.Lerp(bc, t), bc.Lerp(cd, t)
	m := abc.Lerp(bcd, t)
	return Segment{s.A, ab, abc, m, true}, Segment{m, bcd, cd, s.D, true}
}

// Length returns the arc length in millimetres, right to 1e-6 mm for lengths up
// to some metres, cusps included: Gauss's rule with 8 nodes over the speed,
// halving the range until it agrees with the sum of its halves.
func (s Segment) Length() float64 {
	if !s.Curved {
		return s.A.Dist(s.D)
	}
	whole := s.gauss(0, 1)
	return s.arc(0, 1, whole, math.Max(1e-7, 1e-12*whole), 40)
}

// arc returns the length between two parameters, whole being its first guess.
func (s Segment) arc(a, b, whole, tol float64, depth int) float64 {
	m := (a + b) / 2
	l, r := s.gauss(a, m), s.gauss(m, b)
	if depth == 0 || !(math.Abs(l+r-whole) > tol) { // NaN ends here, too
		return l + r
	}
	return s.arc(a, m, l, tol/2, depth-1) + s.arc(m, b, r, tol/2, depth-1)
}

// gauss integrates the speed from a to b by Gauss's rule with 8 nodes
// (Abramowitz and Stegun, Handbook of Mathematical Functions, table 25.4).
func (s Segment) gauss(a, b float64) float64 {
	nodes := [4][2]float64{
		{0.1834346424956498, 0.3626837833783620},
		{0.5255324099163290, 0.3137066458778873},
		{0.7966664774136267, 0.2223810344533745},
		{0.9602898564975363, 0.1012285362903763},
	}
	m, h := (a+b)/2, (b-a)/2
	var sum float64
	for _, n := range nodes {
		sum += n[1] * (s.Deriv(m-h*n[0]).Len() + s.Deriv(m+h*n[0]).Len())
	}
	return sum * h
}

// sweep returns half the integral of x dy - y dx along the segment.
func (s Segment) sweep() float64 {
	x := func(p, q Point) float64 { return p.X*q.Y - q.X*p.Y }
	if !s.Curved {
		return x(s.A, s.D) / 2
	}
	return (6*x(s.A, s.B) + 3*x(s.A, s.C) + x(s.A, s.D) + 3*x(s.B, s.C) + 3*x(s.B, s.D) + 6*x(s.C, s.D)) / 20
}

// flatten returns points from the segment's start up to but without its end.
// The count follows from the second difference of the control points, which
// bounds the distance of a chord from the curve (Wang 1984).
func (s Segment) flatten(tol float64) []Point {
	if !s.Curved {
		return []Point{s.A}
	}
	d1 := math.Hypot(s.A.X-2*s.B.X+s.C.X, s.A.Y-2*s.B.Y+s.C.Y)
	d2 := math.Hypot(s.B.X-2*s.C.X+s.D.X, s.B.Y-2*s.C.Y+s.D.Y)
	n := int(math.Ceil(math.Sqrt(0.75 * math.Max(d1, d2) / math.Max(tol, 1e-6))))
	n = min(max(n, 1), 10000)
	out := make([]Point, n)
	for i := range out {
		out[i] = s.At(float64(i) / float64(n))
	}
	return out
}
