package reconcile

import (
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// bend returns the piece with its nodes moved outward by x mm. Corners go where the
// edges beside them meet, straight edges stay straight, and smooth knots smooth. A
// segment that does not move stays as it is, to the last digit; knots are put into the
// others where nodes are. Edges and marks stay on them.
func (f *field) bend(x []float64) pattern.Piece { return f.written(x, f.bent(x)) }

// bent returns path with its nodes moved, knot by knot.
func (f *field) bent(x []float64) geometry.Path {
	n := len(f.path)
	slope := f.slopes(x)
	moved := make(geometry.Path, n)
	for j := range n {
		moved[j] = geometry.Knot{At: f.path[j].At.Add(f.move(x, j)), Corner: f.path[j].Corner}
	}
	for j := range n {
		if !f.path.Segment(j).Curved {
			continue
		}
		// A corner that slides along the curve makes it longer or shorter before it moves.
		s := f.slid(j, f.move(x, j), f.move(x, (j+1)%n))
		i, k := f.ends[j][0], f.ends[j][1]
		b := moved[j].At.Add(s.B.Sub(s.A)).Add(swing(s, 0, x[i], slope[i]).Scale(1.0 / 3))
		c := moved[(j+1)%n].At.Add(s.C.Sub(s.D)).Add(swing(s, 1, x[k], slope[k]).Scale(-1.0 / 3))
		moved[j].Out, moved[(j+1)%n].In = &b, &c
	}
	return moved
}

// slid returns a curved segment that begins and ends where its ends go along it.
func (f *field) slid(j int, start, end geometry.Vec) geometry.Segment {
	s := f.path.Segment(j)
	part := func(by geometry.Vec, t float64) float64 {
		speed := s.Deriv(t).Len()
		if speed < 1e-9 {
			return 0
		}
		return math.Max(-0.5, math.Min(by.Dot(heading(s, t))/speed, 0.5))
	}
	from, to := part(start, 0), 1+part(end, 1)
	_, s = s.Split(from) // also where that lies before its beginning
	s, _ = s.Split((to - from) / (1 - from))
	return s
}

// written puts moved knots and segments that stayed together.
func (f *field) written(x []float64, moved geometry.Path) pattern.Piece {
	out := f.piece
	out.Knots, out.Edges = nil, slices.Clone(f.piece.Edges)
	n := len(f.path)
	place := make([]int, len(f.piece.Knots))
	still := func(was int) bool {
		for j, w := range f.was {
			if w == was && (f.move(x, j) != geometry.Vec{} || f.move(x, (j+1)%n) != geometry.Vec{} || x[f.ends[j][0]] != 0 || x[f.ends[j][1]] != 0) {
				return false
			}
		}
		return true
	}
	var in *geometry.Point // the handle that comes in at the next knot
	for j := 0; j < n; {
		was := f.was[j]
		k := moved[j]
		k.In = in
		place[was] = len(out.Knots)
		next := j
		for next < n && f.was[next] == was {
			next++
		}
		if still(was) {
			k.Out, in = f.piece.Knots[was].Out, f.piece.Knots[(was+1)%len(f.piece.Knots)].In
			out.Knots, j = append(out.Knots, k), next
			continue
		}
		out.Knots = append(out.Knots, k)
		for i := j + 1; i < next; i++ {
			out.Knots = append(out.Knots, moved[i])
		}
		in, j = moved[next%n].In, next
	}
	out.Knots[0].In = in
	for i, e := range f.piece.Edges {
		out.Edges[i].Knot = place[e.Knot]
	}
	return out
}

// move returns how far a knot of the path goes.
func (f *field) move(x []float64, j int) geometry.Vec {
	n := len(f.path)
	before, after := f.ends[(j+n-1)%n][1], f.ends[j][0]
	p, q := f.nodes[before], f.nodes[after]
	if before == after {
		return q.normal.Scale(x[after])
	}
	// The point that lies x from both edges, as their tangents see it.
	det := p.normal.Cross(q.normal)
	return geometry.Vec{
		X: (x[before]*q.normal.Y - x[after]*p.normal.Y) / det,
		Y: (x[after]*p.normal.X - x[before]*q.normal.X) / det,
	}
}

// slopes returns the derivative of the moves along the outline at each node: that of a
// straight edge where one ends there, else so that the course between nodes never
// leaves their moves (Fritsch and Butland 1984).
func (f *field) slopes(x []float64) []float64 {
	out := make([]float64, len(f.nodes))
	left, right := make([]float64, len(f.nodes)), make([]float64, len(f.nodes))
	line := make([]*float64, len(f.nodes))
	for i := range left {
		left[i], right[i] = math.NaN(), math.NaN()
	}
	for j := range f.path {
		i, k := f.ends[j][0], f.ends[j][1]
		s := f.path.Segment(j)
		l := s.Length()
		if l == 0 {
			continue
		}
		m := (x[k] - x[i]) / l
		right[i], left[k] = m, m
		if !s.Curved {
			line[i], line[k] = &m, &m
		}
	}
	for i := range out {
		a, b := left[i], right[i]
		switch {
		case line[i] != nil:
			out[i] = *line[i]
		case math.IsNaN(a) && math.IsNaN(b), a*b <= 0:
			out[i] = 0
		case math.IsNaN(a):
			out[i] = b
		case math.IsNaN(b):
			out[i] = a
		default: // the harmonic mean, with the sign of both
			out[i] = 2 * a * b / (a + b)
		}
	}
	return out
}

// swing returns the derivative by the parameter of a move x along the normal whose
// derivative along the curve is slope, at an end of a segment.
func swing(s geometry.Segment, t, x, slope float64) geometry.Vec {
	v := s.Deriv(t)
	speed := v.Len()
	if speed < 1e-9 {
		return geometry.Vec{}
	}
	normal := func(u float64) geometry.Vec {
		d := s.Deriv(u).Unit()
		return geometry.Vec{X: d.Y, Y: -d.X}
	}
	const h = 1e-4
	turn := normal(t + h*(1-2*t)).Add(normal(t).Scale(-1)).Scale((1 - 2*t) / h)
	return normal(t).Scale(slope * speed).Add(turn.Scale(x))
}
