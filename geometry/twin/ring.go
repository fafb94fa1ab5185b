package twin

import (
	"math"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// How many points stand for an outline: on a front of 2.5 m round one every 5 mm where
// it is measured, and a third of that while it is looked for how it lies.
const (
	finePoints   = 512
	coarsePoints = 170
)

// ring is an outline as points at even distances, with outward normals and doubts.
type ring struct {
	at     []geometry.Point
	normal []geometry.Vec
	doubt  []float64 // mm, as [pattern.Doubts.At] says
	pos    []float64 // on the outline of the piece, segment and parameter
}

// newRing walks the outline of a piece in about n steps.
func newRing(p pattern.Piece, n int) ring {
	var r ring
	doubts := p.Doubts()
	step, left := p.Knots.Length()/float64(n), 0.0
	for j := range p.Knots {
		s := p.Knots.Segment(j)
		const parts = 32
		for i := range parts {
			t0, t1 := float64(i)/parts, float64(i+1)/parts
			l := s.At(t0).Dist(s.At(t1))
			for left < l {
				t := t0 + (t1-t0)*left/l
				d := s.Deriv(t).Unit()
				pos := float64(j) + t
				r.at = append(r.at, s.At(t))
				r.normal = append(r.normal, geometry.Vec{X: d.Y, Y: -d.X})
				r.pos = append(r.pos, pos)
				r.doubt = append(r.doubt, doubts.At(pos))
				left += step
			}
			left -= l
		}
	}
	return r
}

// mirrored returns the ring of the mirror image, counter-clockwise as well.
func (r ring) mirrored() ring {
	n := len(r.at)
	out := ring{at: make([]geometry.Point, n), normal: make([]geometry.Vec, n), doubt: make([]float64, n), pos: make([]float64, n)}
	for i := range n {
		k := n - 1 - i
		out.at[i], out.normal[i] = mirror(r.at[k]), geometry.Vec{X: -r.normal[k].X, Y: r.normal[k].Y}
		out.doubt[i], out.pos[i] = r.doubt[k], r.pos[k]
	}
	return out
}

// mirror returns the mirror image of a point about the y axis.
func mirror(p geometry.Point) geometry.Point { return geometry.Point{X: -p.X, Y: p.Y} }

// foot is the point of a ring nearest to another point.
type foot struct {
	at     geometry.Point
	normal geometry.Vec
	index  int // of the point before it
	doubt  float64
	pos    float64
}

// nearest returns the foot of a point, looked for among all points of the ring, or
// within some points of a hint that is not negative.
func (r ring) nearest(q geometry.Point, hint int) foot {
	n, from, count := len(r.at), 0, len(r.at)
	if hint >= 0 && n > 2*reach {
		from, count = (hint-reach+n)%n, 2*reach+1
	}
	best, part, least := 0, 0.0, math.Inf(1)
	for i := range count {
		k := from + i
		if k >= n {
			k -= n
		}
		m := k + 1
		if m == n {
			m = 0
		}
		a, b := r.at[k], r.at[m]
		dx, dy, px, py := b.X-a.X, b.Y-a.Y, q.X-a.X, q.Y-a.Y
		t := 0.0
		if l := dx*dx + dy*dy; l > 0 {
			t = min(max((px*dx+py*dy)/l, 0), 1)
		}
		px, py = px-t*dx, py-t*dy
		if d := px*px + py*py; d < least {
			best, part, least = k, t, d
		}
	}
	next := (best + 1) % n
	along := r.at[next].Sub(r.at[best])
	near := best
	if part > 0.5 {
		near = next
	}
	return foot{
		at: r.at[best].Lerp(r.at[next], part), normal: geometry.Vec{X: along.Y, Y: -along.X}.Unit(),
		index: best, doubt: r.doubt[near], pos: r.pos[near],
	}
}

// reach is how far from a hint the nearest point is looked for, in points.
const reach = 12
