package amend

import (
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// carried returns the piece on an outline that was put together, its edges beginning
// where they began, and its notches where they were. place says where a spot of the old
// outline that a notch hangs on has gone, and false where it was taken out.
func carried(p pattern.Piece, bits []bit, place func(spot) (geometry.Point, bool)) (pattern.Piece, []geometry.Finding) {
	out := p
	out.Edges, out.LostEdges = nil, slices.Clone(p.LostEdges)
	var findings []geometry.Finding
	begin := map[int]bool{}
	first := make([]int, len(p.Edges)) // the bit that each edge begins with, -1 = lost
	for k, e := range p.Edges {
		if first[k] = beginning(bits, e.Knot, p.Edges[(k+1)%len(p.Edges)].Knot, len(p.Knots)); first[k] < 0 || begin[first[k]] {
			first[k] = -1
			e.Knot = 0
			out.LostEdges = append(out.LostEdges, e)
			findings = append(findings, lost(p, e))
			continue
		}
		begin[first[k]] = true
	}
	whole, index := healed(bits, func(i int) bool { return begin[i] })
	out.Knots = pathOf(whole)
	for k, e := range p.Edges {
		if first[k] >= 0 {
			e.Knot = index[first[k]]
			out.Edges = append(out.Edges, e)
		}
	}
	slices.SortStableFunc(out.Edges, func(a, b pattern.Edge) int { return a.Knot - b.Knot })
	out.Marks = slices.Clone(p.Marks)
	for i := range out.Marks {
		m := &out.Marks[i]
		k := p.Edge(m.Edge)
		if m.Detached != "" || k < 0 {
			continue
		}
		if first[k] < 0 {
			findings = append(findings, detach(p, m, fmt.Sprintf("its edge %q is gone", m.Edge)))
			continue
		}
		if m.Kind != pattern.MarkNotch && m.Kind != pattern.MarkDart || !changed(p, bits, k) {
			continue
		}
		if at, ok := hang(p, out, k, m.At, place); ok {
			m.At = at
			continue
		}
		findings = append(findings, detach(p, m, "its place was taken out"))
	}
	return out, findings
}

// beginning returns the first bit of the outline that comes from what lies between two
// old knots, or -1.
func beginning(bits []bit, from, to, n int) int {
	span := (to - from + n) % n
	if span == 0 {
		span = n
	}
	best, least := -1, float64(span)
	for i, b := range bits {
		if b.src < 0 {
			continue
		}
		if d := float64((b.src-from+n)%n) + b.t0; d < least {
			best, least = i, d
		}
	}
	return best
}

// changed reports whether an edge is another one than it was, and not only moved.
func changed(p pattern.Piece, bits []bit, k int) bool {
	from, n := p.Edges[k].Knot, len(p.Knots)
	to := p.Edges[(k+1)%len(p.Edges)].Knot
	j := slices.IndexFunc(bits, func(b bit) bool { return b.src == from && b.t0 == 0 })
	if j < 0 {
		return true
	}
	for i := from; ; {
		b := bits[j%len(bits)]
		if b.src != i || b.t0 != 0 || b.t1 != 1 || math.Abs(b.Length()-p.Knots.Segment(i).Length()) > sameMM {
			return true
		}
		if i, j = (i+1)%n, j+1; i == to {
			return false
		}
	}
}

// hang returns the fraction of an edge of the new piece at which a notch hangs that hung
// at a fraction of edge k of the old one.
func hang(p, now pattern.Piece, k int, at float64, place func(spot) (geometry.Point, bool)) (float64, bool) {
	q, ok := place(along(p.Knots, p.Edges[k].Knot, p.Edges[(k+1)%len(p.Edges)].Knot, at))
	if !ok {
		return at, false
	}
	line := now.EdgeChain(now.Edge(p.Edges[k].ID))
	best, whole, where := math.Inf(1), 0.0, 0.0
	for _, s := range line {
		t, d := s.Nearest(q)
		if d < best-sameMM {
			head, _ := s.Split(t)
			best, where = d, whole+head.Length()
		}
		whole += s.Length()
	}
	// A notch that stays keeps its number to the last digit, as far as that can be.
	if whole == 0 {
		return at, true
	}
	if f := where / whole; math.Abs(f-at)*whole > 1e-5 {
		return math.Min(f, 1), true
	}
	return at, true
}

// along returns the spot at a fraction of the arc length from one knot to another.
func along(ring geometry.Path, from, to int, fraction float64) spot {
	i, t := geometry.ChainAt(ring.Between(from, to), fraction)
	return spot{(from + i) % len(ring), math.Min(t, 1-1e-12)}
}

func lost(p pattern.Piece, e pattern.Edge) geometry.Finding {
	return geometry.Finding{
		Code: pattern.CodeEdgeLost, Severity: geometry.SeverityWarning, Piece: p.ID,
		Message: fmt.Sprintf("%s: nothing is left of the edge %q.", p.Name, e.Name),
		Remedy:  "Take the change back, or say where the edge runs now; its finish is kept until then.",
	}
}

// detach takes a mark off the piece, and says so.
func detach(p pattern.Piece, m *pattern.Mark, why string) geometry.Finding {
	m.Detached = why
	return geometry.Finding{
		Code: pattern.CodeDetached, Severity: geometry.SeverityWarning, Piece: p.ID,
		Message: fmt.Sprintf("%s: the %s %q is not drawn: %s.", p.Name, m.Kind, m.ID, why),
		Remedy:  "Put it where it belongs now, or remove it.",
	}
}

// inside moves the marks within the piece, its unsure stretches and its holes; gone says
// of a point that it was taken out. What a hole crosses stays the caller's affair.
func inside(p *pattern.Piece, move affine, gone func(geometry.Point) bool) []geometry.Finding {
	var findings []geometry.Finding
	p.Marks = slices.Clone(p.Marks)
	for i := range p.Marks {
		m := &p.Marks[i]
		if len(m.Points) == 0 || m.Detached != "" {
			continue
		}
		if !slices.ContainsFunc(m.Points, func(q geometry.Point) bool { return !gone(q) }) {
			findings = append(findings, detach(*p, m, "its place was taken out"))
			continue
		}
		pts := make([]geometry.Point, len(m.Points))
		for j, q := range m.Points {
			pts[j] = move(q)
		}
		m.Points = pts
	}
	unsure := p.Unsure
	p.Unsure = nil
	for _, s := range unsure {
		s.From, s.To = move(s.From), move(s.To)
		p.Unsure = append(p.Unsure, s)
	}
	return findings
}
