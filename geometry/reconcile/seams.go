package reconcile

import (
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

const (
	seamMM   = 0.1                              // how well the sides of a seam agree in the pattern
	angleRad = 0.5 * math.Pi / 180              // and joined corners
	easeMM   = pattern.SeamToleranceMM / sigmas // by what sides may differ before the seam counts as wrong
)

// edgeRef is an edge by the numbers of its piece and itself.
type edgeRef struct{ piece, edge int }

// seam is a seam pair that can be reconciled.
type seam struct {
	pair   pattern.SeamPair
	length row
	angles []angle
	edges  []edgeRef
}

// angle is the sum of two corner angles at an end of a seam, in radians.
type angle struct {
	row
	start bool
}

// lengthRow adds, times sign, how the length of a side of a seam depends on the moves.
//
// The interior of an edge grows by the move times the angle that it turns by, on any
// parallel curve. At a corner the edge ends where it meets its neighbour: that point
// slides along the edge by what moves of both give.
func (s *solver) lengthRow(out *row, e edgeRef, lines []pattern.Stitching, sign float64) {
	edges := lines[e.piece].Edges
	line := edges[e.edge]
	turns(line, func(p geometry.Point, turn float64) {
		s.moveAt(out, e, p, sign*2*math.Tan(turn/2))
	})
	m := len(edges)
	s.slide(out, e, (e.edge+m-1)%m, line[0].A, heading(line[0], 0), last(edges[(e.edge+m-1)%m]), -sign)
	s.slide(out, e, (e.edge+1)%m, line[len(line)-1].D, last(line), heading(edges[(e.edge+1)%m][0], 0), sign)
}

// last returns the direction in which a chain ends.
func last(line []geometry.Segment) geometry.Vec { return heading(line[len(line)-1], 1) }

// slide adds by how much the end of a stitch line goes along its edge, times sign: it
// stays on both stitch lines, whose directions there are given.
func (s *solver) slide(out *row, e edgeRef, beside int, at geometry.Point, own, other geometry.Vec, sign float64) {
	f := s.fields[e.piece]
	if beside == e.edge || !f.meets(e.edge, beside) {
		return // all round, or it runs on: nothing slides
	}
	n, b := geometry.Vec{X: own.Y, Y: -own.X}, geometry.Vec{X: other.Y, Y: -other.X}
	along := b.Dot(own)
	if math.Abs(along) < math.Sin(cornerTurn/2) {
		return
	}
	s.moveAt(out, edgeRef{e.piece, beside}, at, sign/along)
	s.moveAt(out, e, at, -sign*b.Dot(n)/along)
}

// meets reports whether two edges that follow each other make a corner.
func (f *field) meets(a, b int) bool {
	if b != (a+1)%len(f.piece.Edges) {
		a, b = b, a
	}
	nodes := f.alongEdge(b)
	return f.corner(f.nodes[nodes[0]].knot)
}

// moveAt adds the move of the place of an edge that is nearest to a point, times by.
func (s *solver) moveAt(out *row, e edgeRef, p geometry.Point, by float64) {
	f, first := s.fields[e.piece], s.first[e.piece]
	var nodes [2]int
	part, least := 0.0, math.Inf(1)
	for _, j := range f.segmentsOf(e.edge) {
		g := f.path.Segment(j)
		parts := 1
		if g.Curved {
			parts = 8
		}
		for i := range parts {
			t0, t1 := float64(i)/float64(parts), float64(i+1)/float64(parts)
			a, b := g.At(t0), g.At(t1)
			along := b.Sub(a)
			u := math.Min(math.Max(p.Sub(a).Dot(along)/math.Max(along.Dot(along), 1e-12), 0), 1)
			if d := p.Dist(a.Lerp(b, u)); d < least {
				nodes, part, least = f.ends[j], t0+(t1-t0)*u, d
			}
		}
	}
	out.add(first+nodes[0], by*(1-part))
	out.add(first+nodes[1], by*part)
}

// turns calls f with each turn of a chain of segments, in radians, counter-clockwise,
// and where it is.
func turns(line []geometry.Segment, f func(at geometry.Point, turn float64)) {
	const parts = 12
	before := heading(line[0], 0)
	for i, s := range line {
		if d := heading(s, 0); i > 0 {
			f(s.A, turn(before, d))
			before = d
		}
		if !s.Curved {
			continue
		}
		for k := range parts {
			next := heading(s, 1)
			if k < parts-1 {
				next = s.Deriv(float64(k+1) / parts).Unit()
			}
			f(s.At((float64(k)+0.5)/parts), turn(before, next))
			before = next
		}
	}
}

func turn(a, b geometry.Vec) float64 { return math.Atan2(a.Cross(b), a.Dot(b)) }

// angleRow adds how the angle inside the piece, at the corner where a walked edge starts
// or ends, depends on the moves. It reports whether there is a corner.
func (s *solver) angleRow(out *row, r pattern.Run, start bool) bool {
	e := s.ref(r)
	f, first := s.fields[e.piece], s.first[e.piece]
	m := len(f.piece.Edges)
	after := e.edge
	if start == r.Reverse {
		after = (after + 1) % m
	}
	in := f.alongEdge((after + m - 1) % m)
	to := f.alongEdge(after)
	if len(in) < 2 || len(to) < 2 || !f.corner(f.nodes[to[0]].knot) {
		return false
	}
	// An edge that moves out more towards its end turns clockwise.
	slope := func(a, b int, sign float64) {
		if l := f.nodes[b].along - f.nodes[a].along; l > 1 {
			out.add(first+b, sign/l)
			out.add(first+a, -sign/l)
		}
	}
	slope(to[0], to[1], 1)
	slope(in[len(in)-2], in[len(in)-1], -1)
	return true
}

// ref returns the numbers of a run's piece and edge.
func (s *solver) ref(r pattern.Run) edgeRef {
	for i, f := range s.fields {
		if f.piece.ID == r.Piece {
			return edgeRef{i, f.piece.Edge(r.Edge)}
		}
	}
	return edgeRef{}
}

// seamsOf returns the conditions of all seams whose stitch lines are known.
func (s *solver) seamsOf(report pattern.Report, lines []pattern.Stitching) []seam {
	known := map[string]bool{}
	for _, r := range report.Seams {
		known[r.ID] = r.Known
	}
	var out []seam
	for _, p := range s.garment.SeamPairs {
		if !known[p.ID] {
			continue
		}
		m := seam{pair: p, length: row{sd: seamMM, spare: easeMM}}
		for i, r := range slices.Concat(p.A, p.B) {
			sign := 1.0
			if i >= len(p.A) {
				sign = -1
			}
			m.edges = append(m.edges, s.ref(r))
			s.lengthRow(&m.length, s.ref(r), lines, sign)
		}
		m.length = m.length.compact()
		for _, start := range []bool{true, false} {
			a, b := p.A[0], p.B[0]
			if !start {
				a, b = p.A[len(p.A)-1], p.B[len(p.B)-1]
			}
			if start && !p.RunsOnStart || !start && !p.RunsOnEnd {
				continue
			}
			q := angle{row: row{sd: angleRad, spare: pattern.AngleToleranceDeg * math.Pi / 180 / sigmas}, start: start}
			if is, also := s.angleRow(&q.row, a, start), s.angleRow(&q.row, b, start); is || also {
				q.row = q.compact()
				m.angles = append(m.angles, q)
			}
		}
		out = append(out, m)
	}
	return out
}
