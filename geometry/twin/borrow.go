package twin

import (
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// Judgements of where an edge ends on the twin.
const (
	cornerMM   = 25.0 // an edge that ends at a corner ends at the twin's within this distance
	farMM      = 60.0 // further away there is no counterpart
	lengthened = 2.0  // times as long, or as short, an edge may become
)

// Borrow returns the piece with an edge, both of its ends included, as it runs on the
// twin: what is worn through on one is there on the other. piece is A or B of the twin,
// whose pieces g holds; of a piece that is its own twin the other half is taken. The
// edges beside it keep their shape but for the segment that ends there. Marks stay on
// their edges, and stretches in doubt along the edge are gone. It fails with ErrNoPiece,
// or ErrNoCounterpart where the edge is all round or the twin has nothing there.
func Borrow(g pattern.Garment, t Twin, piece, edge string) (pattern.Piece, error) {
	from, back := t.A, t.ToB
	if piece == t.A {
		from, back = t.B, t.ToA
	}
	p, ok := g.Piece(piece)
	q, okTwin := g.Piece(from)
	k := p.Edge(edge)
	if !ok || !okTwin || k < 0 || piece != t.A && piece != t.B {
		return pattern.Piece{}, fmt.Errorf("%w with an edge %q", ErrNoPiece, edge)
	}
	if len(p.Edges) < 2 {
		return pattern.Piece{}, fmt.Errorf("%w: the edge runs all round", ErrNoCounterpart)
	}
	line, err := counterpart(p, k, q.Knots.Reversed().Map(back))
	if err != nil {
		return pattern.Piece{}, err
	}
	return replaced(p, k, line), nil
}

// counterpart returns the stretch of the twin's outline along edge k of a piece.
func counterpart(p pattern.Piece, k int, twin geometry.Path) ([]geometry.Segment, error) {
	start, end := p.Knots[p.Edges[k].Knot], p.Knots[p.Edges[(k+1)%len(p.Edges)].Knot]
	from, off := endOn(twin, start)
	to, far := endOn(twin, end)
	if math.Max(off, far) > farMM {
		return nil, fmt.Errorf("%w: it is %.0f mm away", ErrNoCounterpart, math.Max(off, far))
	}
	line := stretch(twin, from, to)
	l := geometry.ChainLength(line)
	if was := geometry.ChainLength(p.EdgeChain(k)); l < was/lengthened || l > was*lengthened || l == 0 {
		return nil, fmt.Errorf("%w: what runs there is %.0f mm long, the edge %.0f mm", ErrNoCounterpart, l, was)
	}
	return line, nil
}

// endOn returns where on an outline an edge ends that ends at a knot, as segment and
// parameter, and how far away that is: at a corner where the knot is one and a corner is
// near, else at the nearest place.
func endOn(ring geometry.Path, k geometry.Knot) (pos, dist float64) {
	dist = math.Inf(1)
	for j, q := range ring {
		if d := k.At.Dist(q.At); k.Corner && q.Corner && d < math.Min(cornerMM, dist) {
			pos, dist = float64(j), d
		}
	}
	if dist <= cornerMM {
		return pos, dist
	}
	for j := range ring {
		s := ring.Segment(j)
		const parts = 64
		for i := range parts {
			t := float64(i) / parts
			if d := k.At.Dist(s.At(t)); d < dist {
				pos, dist = float64(j)+t, d
			}
		}
	}
	return pos, dist
}

// stretch returns the segments of a ring from one position to another.
func stretch(ring geometry.Path, from, to float64) []geometry.Segment {
	n := len(ring)
	i, j := int(from), int(to)
	if to <= from {
		j += n
	}
	var out []geometry.Segment
	for k := i; k <= j; k++ {
		s := ring.Segment(k % n)
		lo, hi := 0.0, 1.0
		if k == i {
			lo = from - float64(i)
		}
		if k == j {
			hi = to - math.Floor(to)
		}
		if hi <= lo {
			continue
		}
		_, s = s.Split(lo)
		s, _ = s.Split((hi - lo) / (1 - lo))
		out = append(out, s)
	}
	return out
}

// replaced returns the piece with other segments along edge k.
func replaced(p pattern.Piece, k int, line []geometry.Segment) pattern.Piece {
	n, m := len(p.Knots), len(p.Edges)
	from, to := p.Edges[k].Knot, p.Edges[(k+1)%m].Knot
	handle := func(s geometry.Segment, at geometry.Point) *geometry.Point {
		if !s.Curved {
			return nil
		}
		return &at
	}
	moved := func(h *geometry.Point, by geometry.Vec) *geometry.Point {
		if h == nil {
			return nil
		}
		q := h.Add(by)
		return &q
	}
	last := line[len(line)-1]
	first, end := p.Knots[from], p.Knots[to]
	first.In = moved(first.In, line[0].A.Sub(first.At))
	first.At, first.Out = line[0].A, handle(line[0], line[0].B)
	end.Out = moved(end.Out, last.D.Sub(end.At))
	end.At, end.In = last.D, handle(last, last.C)
	out := p
	out.Knots, out.Edges = geometry.Path{first}, slices.Clone(p.Edges)
	for j, s := range line[1:] {
		before := line[j]
		turn := math.Abs(math.Atan2(before.Deriv(1).Cross(s.Deriv(0)), before.Deriv(1).Dot(s.Deriv(0))))
		out.Knots = append(out.Knots, geometry.Knot{At: s.A, In: handle(before, before.C), Out: handle(s, s.B), Corner: turn > cornerTurn})
	}
	place := map[int]int{from: 0} // old knot to new
	for j := to; j != from; j = (j + 1) % n {
		place[j] = len(out.Knots)
		if j == to {
			out.Knots = append(out.Knots, end)
		} else {
			out.Knots = append(out.Knots, p.Knots[j])
		}
	}
	// Knots keep their numbers as far as they can: the first one stays the first.
	begin, stays := place[0]
	if !stays {
		begin = place[p.Edges[0].Knot]
	}
	out.Knots = slices.Concat(out.Knots[begin:], out.Knots[:begin])
	for i := range out.Edges {
		out.Edges[i].Knot = (place[p.Edges[i].Knot] - begin + len(out.Knots)) % len(out.Knots)
	}
	slices.SortFunc(out.Edges, func(a, b pattern.Edge) int { return a.Knot - b.Knot })
	out.Unsure = withoutDoubt(p, from, to)
	return out
}

// cornerTurn is the turn in radians, 10 degrees, from which a knot is a corner.
const cornerTurn = 10 * math.Pi / 180

// withoutDoubt returns the stretches in doubt but for those whose middle lies between
// two knots.
func withoutDoubt(p pattern.Piece, from, to int) []geometry.Stretch {
	var out []geometry.Stretch
	for _, s := range p.Unsure {
		mid, off := endOn(p.Knots, geometry.Knot{At: s.From.Lerp(s.To, 0.5)})
		on := mid >= float64(from) && mid < float64(to)
		if to <= from {
			on = mid >= float64(from) || mid < float64(to)
		}
		if !on || off > farMM {
			out = append(out, s)
		}
	}
	return out
}
