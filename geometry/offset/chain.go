package offset

import (
	"math"

	"secondcut/geometry"
)

// span is a segment of a cut line and the edge it belongs to. Own says that it
// runs beside the edge itself and does not lead round a corner.
type span struct {
	seg  geometry.Segment
	edge int
	own  bool
}

// chain is a line of spans, each beginning where the one before ends. A position
// on it is the index of a span plus the parameter in it.
type chain []span

// line returns a straight segment.
func line(a, b geometry.Point) geometry.Segment {
	return geometry.Segment{A: a, B: a, C: b, D: b}
}

// startDir and endDir return the unit tangent at the ends of a segment, also
// where a handle coincides with its knot; zero for a segment of no extent.
func startDir(s geometry.Segment) geometry.Vec {
	if !s.Curved {
		return s.D.Sub(s.A).Unit()
	}
	return firstDir(s.B.Sub(s.A), s.C.Sub(s.A), s.D.Sub(s.A))
}

func endDir(s geometry.Segment) geometry.Vec {
	if !s.Curved {
		return s.D.Sub(s.A).Unit()
	}
	return firstDir(s.D.Sub(s.C), s.D.Sub(s.B), s.D.Sub(s.A))
}

// firstDir returns the direction of the first vector that is long enough to have
// one beside the longest.
func firstDir(v ...geometry.Vec) geometry.Vec {
	var most float64
	for _, w := range v {
		most = math.Max(most, w.Len())
	}
	for _, w := range v {
		if w.Len() > 1e-7*most {
			return w.Unit()
		}
	}
	return geometry.Vec{}
}

func reverse(s geometry.Segment) geometry.Segment {
	return geometry.Segment{A: s.D, B: s.C, C: s.B, D: s.A, Curved: s.Curved}
}

func (c chain) reversed() chain {
	out := make(chain, len(c))
	for i, s := range c {
		s.seg = reverse(s.seg)
		out[len(c)-1-i] = s
	}
	return out
}

func (c chain) first() geometry.Point { return c[0].seg.A }
func (c chain) last() geometry.Point  { return c[len(c)-1].seg.D }

// locate splits a position into span and parameter.
func (c chain) locate(pos float64) (int, float64) {
	i := min(max(int(math.Floor(pos)), 0), len(c)-1)
	return i, math.Min(math.Max(pos-float64(i), 0), 1)
}

func (c chain) at(pos float64) geometry.Point {
	i, t := c.locate(pos)
	return c[i].seg.At(t)
}

// cut returns the part between two positions; empty when to is not after from.
func (c chain) cut(from, to float64) chain {
	if len(c) == 0 || !(to > from) {
		return nil
	}
	i, t := c.locate(from)
	j, u := c.locate(to)
	if u == 0 && j > i {
		j, u = j-1, 1
	}
	var out chain
	for k := i; k <= j; k++ {
		s, a, b := c[k], 0.0, 1.0
		if k == i {
			a = t
		}
		if k == j {
			b = u
		}
		if a >= b {
			continue
		}
		s.seg = part(s.seg, a, b)
		out = append(out, s)
	}
	return out
}

// part returns the stretch of a segment between two parameters.
func part(s geometry.Segment, a, b float64) geometry.Segment {
	if b < 1 {
		s, _ = s.Split(b)
	}
	if a > 0 {
		_, s = s.Split(a / b)
	}
	return s
}

// moveStart and moveEnd shift one end of a segment by a hair, its handle with it.
func moveStart(s *geometry.Segment, to geometry.Point) {
	s.B = s.B.Add(to.Sub(s.A))
	s.A = to
	if !s.Curved {
		s.B = to
	}
}

func moveEnd(s *geometry.Segment, to geometry.Point) {
	s.C = s.C.Add(to.Sub(s.D))
	s.D = to
	if !s.Curved {
		s.C = to
	}
}

// nearest returns the position on the chain closest to q.
func (c chain) nearest(q geometry.Point) float64 {
	best, bestD := 0.0, math.Inf(1)
	for i, s := range c {
		t, d := nearestOn(s.seg, q)
		if d < bestD {
			best, bestD = float64(i)+t, d
		}
	}
	return best
}

// nearestOn returns the parameter of the point of s closest to q, and its
// distance: the best of 16 samples, improved by Newton steps.
func nearestOn(s geometry.Segment, q geometry.Point) (float64, float64) {
	if !s.Curved {
		v := s.D.Sub(s.A)
		t := 0.0
		if l2 := v.Dot(v); l2 > 0 {
			t = math.Min(math.Max(q.Sub(s.A).Dot(v)/l2, 0), 1)
		}
		return t, q.Dist(s.At(t))
	}
	t, d := 0.0, math.Inf(1)
	for k := 0; k <= 16; k++ {
		if e := q.Dist(s.At(float64(k) / 16)); e < d {
			t, d = float64(k)/16, e
		}
	}
	for range 12 {
		v, w := s.Deriv(t), s.At(t).Sub(q)
		h := v.Dot(v) + w.Dot(second(s, t))
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
	return nearestSample(s, q)
}

// nearestSample returns the closest of 16 samples of s: the answer where Newton
// steps lead away from it.
func nearestSample(s geometry.Segment, q geometry.Point) (t, d float64) {
	d = math.Inf(1)
	for k := 0; k <= 16; k++ {
		if e := q.Dist(s.At(float64(k) / 16)); e < d {
			t, d = float64(k)/16, e
		}
	}
	return t, d
}

// second returns the second derivative of a segment by its parameter.
func second(s geometry.Segment, t float64) geometry.Vec {
	if !s.Curved {
		return geometry.Vec{}
	}
	a := s.C.Sub(s.B).Add(s.A.Sub(s.B))
	b := s.D.Sub(s.C).Add(s.B.Sub(s.C))
	return a.Scale(6 * (1 - t)).Add(b.Scale(6 * t))
}
