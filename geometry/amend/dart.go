package amend

import (
	"fmt"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// AddDart returns the piece with a dart that takes mm out of an edge: its mouth lies about
// the point of the outline nearest to on, its tip at tip. The outline stays; the edge is
// sewn shorter by mm, which checks of seams know. It fails with ErrLine, ErrMuch or ErrOp.
func AddDart(p pattern.Piece, on, tip geometry.Point, mm float64) (pattern.Piece, []geometry.Finding, error) {
	if !(mm >= 1 && mm <= pattern.MaxWidthMM) {
		return p, nil, fmt.Errorf("%w: a dart takes in 1 to %g mm", ErrOp, pattern.MaxWidthMM)
	}
	s := spotNear(p.Knots, on)
	k := edgeAt(p, s)
	line := p.EdgeChain(k)
	whole := geometry.ChainLength(line)
	from := p.Edges[k].Knot
	var before float64
	for i := from; i != s.seg; i = (i + 1) % len(p.Knots) {
		before += p.Knots.Segment(i).Length()
	}
	head, _ := p.Knots.Segment(s.seg).Split(s.t)
	before += head.Length()
	if before < mm/2+1 || before > whole-mm/2-1 {
		return p, nil, fmt.Errorf("%w: %s has no room for a dart of %.1f mm there; choose a place farther from its ends", ErrMuch, p.Edges[k].Name, mm)
	}
	if !p.Knots.Flatten(0.1).Contains(tip) {
		return p, nil, fmt.Errorf("%w: the tip of a dart lies inside the piece", ErrLine)
	}
	m := pattern.Mark{Kind: pattern.MarkDart, Edge: p.Edges[k].ID, At: before / whole, WidthMM: mm, Points: []geometry.Point{tip}}
	for n := 1; m.ID == ""; n++ {
		if id := fmt.Sprintf("dart-%d", n); !slices.ContainsFunc(p.Marks, func(o pattern.Mark) bool { return o.ID == id }) {
			m.ID = id
		}
	}
	now := p
	now.Marks = append(slices.Clone(p.Marks), m)
	return now, nil, now.Validate()
}

// edgeAt returns the edge on which a spot lies.
func edgeAt(p pattern.Piece, s spot) int {
	best := len(p.Edges) - 1 // the last one runs round to the first
	for k, e := range p.Edges {
		if e.Knot <= s.seg {
			best = k
		}
	}
	return best
}

// dart is a dart on the outline: from leg to leg in its direction.
type dart struct {
	a, b spot
	tip  geometry.Point
}

func dartOf(p pattern.Piece, id string) (int, dart, error) {
	for i, m := range p.Marks {
		k := p.Edge(m.Edge)
		if m.ID != id || m.Kind != pattern.MarkDart || m.Detached != "" || k < 0 {
			continue
		}
		from, to := p.Edges[k].Knot, p.Edges[(k+1)%len(p.Edges)].Knot
		half := m.WidthMM / 2 / geometry.ChainLength(p.EdgeChain(k))
		leg := func(f float64) spot {
			s := along(p.Knots, from, to, min(max(f, 0), 1))
			return spotAt(p.Knots, s.seg, s.t)
		}
		return i, dart{leg(m.At - half), leg(m.At + half), m.Points[0]}, nil
	}
	return 0, dart{}, fmt.Errorf("%w: %s has no dart %q on its outline", ErrOp, p.Name, id)
}
