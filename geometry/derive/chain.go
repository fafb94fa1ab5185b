package derive

import (
	"math"

	"secondcut/geometry"
)

// upTo returns the chain up to a point that lies on it; false where it does not.
func upTo(line []geometry.Segment, to geometry.Point) ([]geometry.Segment, bool) {
	const on = 0.1 // mm
	best, at, where := math.Inf(1), 0.0, 0
	for i, s := range line {
		for j := range 201 {
			t := float64(j) / 200
			if d := s.At(t).Dist(to); d < best {
				best, at, where = d, t, i
			}
		}
	}
	s := line[where]
	for h := 1.0 / 200; h > 1e-10; h /= 2 {
		for _, t := range []float64{math.Max(at-h, 0), math.Min(at+h, 1)} {
			if d := s.At(t).Dist(to); d < best {
				best, at = d, t
			}
		}
	}
	if best > on {
		return nil, false
	}
	out := append([]geometry.Segment{}, line[:where]...)
	if at > 1e-9 {
		head, _ := s.Split(at)
		out = append(out, head)
	}
	return out, len(out) > 0
}

// part returns the chain between two arc lengths.
func part(line []geometry.Segment, from, to float64) []geometry.Segment {
	var out []geometry.Segment
	for _, s := range line {
		l := s.Length()
		lo, hi := math.Max(from, 0), math.Min(to, l)
		if hi-lo > 1e-9 {
			p := s
			if hi < l {
				p, _ = p.Split(s.ParameterAt(hi))
			}
			if lo > 0 {
				_, p = p.Split(p.ParameterAt(lo))
			}
			out = append(out, p)
		}
		from, to = from-l, to-l
	}
	return out
}

// knotsOf returns the beginnings of joined segments as knots, corners where they bend. The
// chain is closed when its last segment ends where the first begins.
func knotsOf(line []geometry.Segment) geometry.Path {
	n := len(line)
	closed := line[n-1].D.Dist(line[0].A) < 0.2
	out := make(geometry.Path, n)
	for i, s := range line {
		k := geometry.Knot{At: s.A, Corner: true}
		if s.Curved {
			b := s.B
			k.Out = &b
		}
		if before := line[(i+n-1)%n]; i > 0 || closed {
			if before.Curved {
				c := before.C
				k.In = &c
			}
			u, v := before.Deriv(1), s.Deriv(0)
			k.Corner = math.Abs(math.Atan2(u.Cross(v), u.Dot(v))) > 0.01
		}
		out[i] = k
	}
	return out
}
