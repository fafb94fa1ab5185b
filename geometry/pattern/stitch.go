package pattern

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/offset"
)

// ErrDraft says that a piece cannot be drawn; the message names the field.
var ErrDraft = errors.New("the piece cannot be drafted")

// Sizes of pieces that are drafted (judgement): smaller ones and larger ones come
// from a wrong scale.
const (
	MinPieceMM = offset.MinPieceMM
	MaxPieceMM = offset.MaxPieceMM
)

// stitched is the stitch line of a piece with its edges.
type stitched struct {
	piece Piece
	path  geometry.Path
	// first is the index in path of the first knot of each edge.
	first []int
	// old is how far each edge was moved in, in mm; known says whether that is the
	// truth or only the lack of it.
	old   []float64
	known []bool
	// strips are the edges' parts with their old allowances, in order; none where
	// nothing was moved.
	strips   []strip
	findings []geometry.Finding
	// err says why there is no stitch line; the rest is then not to be used.
	err error
}

// stitchAll returns the stitch lines of all pieces of a garment, which it validates.
// A piece whose line cannot be drawn carries the error.
func stitchAll(g Garment) ([]stitched, error) {
	if err := g.Validate(); err != nil {
		return nil, err
	}
	out := make([]stitched, len(g.Pieces))
	for i := range out {
		var err error
		if out[i], err = stitch(g, i); err != nil {
			out[i].err = err
		}
	}
	return out, nil
}

// stitch returns the stitch line of piece i: the traced edges moved in by what is
// known of their old allowances, so that nothing is ever added on top of one that
// is already there.
func stitch(g Garment, i int) (stitched, error) {
	p := g.Pieces[i]
	s := stitched{piece: p, old: make([]float64, len(p.Edges)), known: make([]bool, len(p.Edges))}
	field := fmt.Sprintf("pieces[%d]", i)
	if err := p.drawable(field + ".knots"); err != nil {
		return s, err
	}
	moved := false
	for k, e := range p.Edges {
		s.old[k], s.known[k] = p.old(e)
		moved = moved || s.old[k] > 0
	}
	if !moved {
		// A cut line without any width is the outline, after it has been checked.
		if _, err := offset.CutLine(p.Knots, []offset.Edge{{}}, offset.Options{}); err != nil {
			return s, undrawable(field+".knots", p, err)
		}
		s.path = p.Knots
		for _, e := range p.Edges {
			s.first = append(s.first, e.Knot)
		}
		return s, nil
	}
	fine, parts, findings := strips(p, s.old, s.known)
	path, first, err := inside(fine, parts)
	if errors.Is(err, offset.ErrOutline) {
		return s, undrawable(field+".knots", p, err)
	}
	if err != nil {
		return s, undrawable(wideField(err, field, ".old_allowance"), p, fmt.Errorf("old_allowance: %w", err))
	}
	s.path, s.strips, s.findings = path, parts, findings
	for i := range s.strips {
		s.strips[i].first = first[i]
		if i == 0 || s.strips[i-1].edge != s.strips[i].edge {
			s.first = append(s.first, first[i])
		}
	}
	return s, nil
}

// undrawable is the error that a value of a piece keeps it from being drawn.
func undrawable(field string, p Piece, err error) error {
	return &FieldError{Kind: ErrDraft, Cause: err, Field: field, Text: fmt.Sprintf("(%s): %v", p.Name, err)}
}

// drawable refuses outlines that nothing can be drawn round.
func (p Piece) drawable(field string) error {
	lo, hi := p.Knots.Flatten(0.05).Bounds()
	w, h := hi.X-lo.X, hi.Y-lo.Y
	switch {
	case math.Min(w, h) < MinPieceMM:
		return undrawable(field, p, fmt.Errorf("they span %.1f x %.1f mm; below %g mm no piece can be sewn. Check the scale", w, h, MinPieceMM))
	case math.Max(w, h) > MaxPieceMM:
		return undrawable(field, p, fmt.Errorf("they span %.2f x %.2f m; at most %g m can be drawn. Check the scale", w/1000, h/1000, MaxPieceMM/1000))
	}
	return nil
}

// wideField returns the field of a piece that an error of the offset is about: a value
// of the edge that it names, or the piece.
func wideField(err error, piece, value string) string {
	var wide *offset.TooWideError
	if errors.As(err, &wide) && !wide.All {
		return fmt.Sprintf("%s.edges[%d]%s", piece, wide.Edge, value)
	}
	return piece + ".edges"
}

// inside moves each edge in by the old allowance of its strip. The outline is walked
// the other way round, where in is out. An error names the edge that the strip is of.
func inside(p Piece, by []strip) (geometry.Path, []int, error) {
	n, m := len(p.Knots), len(p.Edges)
	edges := make([]offset.Edge, m)
	order := make([]int, m) // the edge of the piece, in the order of the reversed outline
	for k := range order {
		order[k] = k
	}
	start := func(k int) int { return n - 1 - p.Edges[(k+1)%m].Knot }
	slices.SortFunc(order, func(a, b int) int { return start(a) - start(b) })
	for j, k := range order {
		edges[j] = offset.Edge{Name: p.Edges[k].Name, Knot: start(k), StartMM: by[k].end, EndMM: by[k].start}
	}
	res, err := offset.CutLine(p.Knots.Reversed(), edges, offset.Options{})
	if err != nil {
		var wide *offset.TooWideError
		if errors.As(err, &wide) && wide.Edge >= 0 && wide.Edge < m {
			there := *wide
			there.Edge = by[order[wide.Edge]].edge
			return nil, nil, &there
		}
		return nil, nil, err
	}
	path, edgeOf := res.Path.Reversed(), make([]int, len(res.Path))
	for j := range edgeOf {
		edgeOf[j] = order[res.EdgeOf[(2*len(edgeOf)-2-j)%len(edgeOf)]]
	}
	path, edgeOf = withoutStubs(path, edgeOf)
	first, err := firstKnots(path, edgeOf, p)
	return path, first, err
}

// withoutStubs drops segments of less than a thousandth of a millimetre, which are
// left where two moved curves meet almost, but not quite: they have no direction
// worth following when the line is moved once more.
func withoutStubs(path geometry.Path, edgeOf []int) (geometry.Path, []int) {
	const stub = 1e-3
	var out geometry.Path
	var of []int
	n := len(path)
	for j, k := range path {
		before := path[(j+n-1)%n]
		if j > 0 && len(out) > 0 && before.At.Dist(k.At) < stub && path.Segment(j-1).Length() < stub {
			last := &out[len(out)-1]
			last.Out, last.Corner, of[len(of)-1] = k.Out, last.Corner || k.Corner, edgeOf[j]
			continue
		}
		out, of = append(out, k), append(of, edgeOf[j])
	}
	return out, of
}

// firstKnots returns where each edge begins on a path whose segments belong to
// edges. It fails when an edge has come apart.
func firstKnots(path geometry.Path, edgeOf []int, p Piece) ([]int, error) {
	first := make([]int, len(p.Edges))
	for k := range first {
		first[k] = -1
	}
	n := len(path)
	for j, k := range edgeOf {
		if edgeOf[(j+n-1)%n] == k {
			continue
		}
		if first[k] >= 0 {
			return nil, fmt.Errorf("edge %q comes apart in more than one stretch; a smaller width may fit", p.Edges[k].Name)
		}
		first[k] = j
	}
	if len(p.Edges) == 1 { // one edge all round begins near where it began
		from := p.Knots[p.Edges[0].Knot].At
		near := 0
		for j := range path {
			if path[j].At.Dist(from) < path[near].At.Dist(from) {
				near = j
			}
		}
		return []int{near}, nil
	}
	for k, j := range first {
		if j < 0 {
			return nil, fmt.Errorf("nothing is left of edge %q; a smaller width may fit", p.Edges[k].Name)
		}
	}
	return first, nil
}

// edge returns the segments of edge k of the stitch line in the direction of the outline.
func (s stitched) edge(k int) []geometry.Segment {
	return s.path.Between(s.first[k], s.first[(k+1)%len(s.first)])
}

// at returns the point at a fraction of the arc length of a chain, and the unit
// direction there.
func at(line []geometry.Segment, fraction float64) (geometry.Point, geometry.Vec) {
	i, t := geometry.ChainAt(line, fraction)
	return line[i].At(t), heading(line[i], t)
}

// heading returns the unit direction at a parameter; where a handle lies on its
// knot, the one a little further on.
func heading(s geometry.Segment, t float64) geometry.Vec {
	for _, by := range []float64{0, 1e-3, 1e-2, 0.1} {
		u := t + by
		if t > 0.5 {
			u = t - by
		}
		if d := s.Deriv(u); d.Len() > 1e-6 {
			return d.Unit()
		}
	}
	return s.D.Sub(s.A).Unit()
}
