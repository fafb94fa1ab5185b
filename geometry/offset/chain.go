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
		t, d := s.seg.Nearest(q)
		if d < bestD {
			best, bestD = float64(i)+t, d
		}
	}
	return best
}
