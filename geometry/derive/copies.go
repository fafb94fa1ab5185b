package derive

import (
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/amend"
	"secondcut/geometry/pattern"
)

// facing returns the part of the parent within WidthMM of the chosen edges, which follow
// one another: its ends run along the edges beside them, its inner edge stays as it is
// cut. Notches on the chosen edges come along.
func (m *maker) facing() (pattern.Piece, error) {
	if err := m.want("width_mm", m.d.WidthMM); err != nil {
		return pattern.Piece{}, err
	}
	p := m.sewn()
	first, count, err := m.row(p)
	if err != nil {
		return p, err
	}
	inner, err := inset(p, func(e pattern.Edge) float64 {
		if m.takes(e.ID) {
			return m.d.WidthMM
		}
		return 0
	})
	if err != nil {
		return p, err
	}
	n := len(p.Edges)
	var outer, in []geometry.Segment
	starts := []int{}
	for j := range count {
		k := (first + j) % n
		starts = append(starts, len(outer))
		outer = append(outer, p.EdgeChain(k)...)
		in = append(in, inner.EdgeChain(inner.Edge(p.Edges[k].ID))...)
	}
	before, after := (first+n-1)%n, (first+count)%n
	from, to := in[0].A, in[len(in)-1].D
	end, okEnd := upTo(p.EdgeChain(after), to)
	start, okStart := upTo(geometry.ChainReversed(p.EdgeChain(before)), from)
	if !okEnd || !okStart {
		return p, fmt.Errorf("%w: a facing of %g mm is wider than the edges beside it are long", ErrRoom, m.d.WidthMM)
	}
	ring := slices.Concat(outer, end, geometry.ChainReversed(in), geometry.ChainReversed(start))
	out := p
	out.Holes = nil
	out.Knots = knotsOf(ring)
	out.Edges = nil
	for j := range count {
		e := p.Edges[(first+j)%n]
		e.Knot = starts[j]
		out.Edges = append(out.Edges, e)
	}
	at := len(outer)
	side := func(k int, id string, knot int) pattern.Edge {
		e := pattern.Edge{ID: id, Name: p.Edges[k].Name, Knot: knot, Finish: p.Edges[k].Finish}
		if f := e.Finish; f != nil && f.Kind != pattern.FinishFold && f.Kind != pattern.FinishSeam {
			e.Finish = m.allowance()
		}
		return e
	}
	out.Edges = append(
		out.Edges, side(after, "end", at),
		pattern.Edge{ID: "inner", Name: "inner edge", Knot: at + len(end)}, side(before, "start", at+len(end)+len(in)),
	)
	out.Marks = append(grainMarks(p), hung(p, func(e string) bool { return m.takes(e) })...)
	return out, nil
}

// row returns the first of the chosen edges and how many there are, which follow one
// another and leave one at least.
func (m *maker) row(p pattern.Piece) (first, count int, err error) {
	n := len(p.Edges)
	first = -1
	for k, e := range p.Edges {
		if !m.takes(e.ID) {
			continue
		}
		count++
		if !m.takes(p.Edges[(k+n-1)%n].ID) {
			if first >= 0 {
				return 0, 0, fmt.Errorf("%w: the edges of a facing follow one another; make one for each stretch", ErrRecipe)
			}
			first = k
		}
	}
	if first < 0 {
		return 0, 0, fmt.Errorf("%w: a facing leaves at least one edge of %s; cut edges where it is to end", ErrRecipe, p.Name)
	}
	return first, count, nil
}

// interfacing returns the parent inside its stitch line by ShorterMM all round, but at a
// fold, so that it does not come into the seams.
func (m *maker) interfacing() (pattern.Piece, error) {
	p := m.sewn()
	out, err := inset(p, func(e pattern.Edge) float64 {
		if e.Finish != nil && e.Finish.Kind == pattern.FinishFold {
			return 0
		}
		return m.d.ShorterMM
	})
	if err != nil {
		return out, err
	}
	out.Holes, out.Marks = p.Holes, grainMarks(p)
	for i, e := range out.Edges {
		if f := p.Edges[p.Edge(e.ID)].Finish; f != nil && f.Kind == pattern.FinishFold {
			out.Edges[i].Finish = f
		}
	}
	return out, nil
}

// lining returns the parent shorter by ShorterMM at the edges named, and wider by EaseMM
// for a pleat: up its middle, or beside its fold, where a half gets half of it. Notches
// come along.
func (m *maker) lining() (pattern.Piece, error) {
	p := m.sewn()
	out := p
	named := slices.ContainsFunc(m.d.From, func(s pattern.Source) bool { return s.Edge != "" })
	if m.d.ShorterMM > 0 {
		if !named {
			return p, fmt.Errorf("%w: say at which edge the lining is shorter", ErrRecipe)
		}
		var err error
		out, err = inset(p, func(e pattern.Edge) float64 {
			if slices.ContainsFunc(m.d.From, func(s pattern.Source) bool { return s.Edge == e.ID }) {
				return m.d.ShorterMM
			}
			return 0
		})
		if err != nil {
			return p, err
		}
		for i, e := range out.Edges {
			out.Edges[i].Finish = p.Edges[p.Edge(e.ID)].Finish
		}
		out.Holes = p.Holes
	}
	out.Marks = append(grainMarks(p), hung(p, func(string) bool { return true })...)
	if m.d.EaseMM > 0 {
		a, b, ease := pleat(out, m.d.EaseMM)
		wide, findings, err := amend.Open(out, a, b, ease, amend.JoinCut)
		if err != nil {
			return p, fmt.Errorf("%w: %w", ErrRoom, err)
		}
		m.findings = append(m.findings, findings...)
		out = wide
	}
	return out, nil
}

// pleat returns the line along which a lining is widened, and by how much.
func pleat(p pattern.Piece, ease float64) (a, b geometry.Point, mm float64) {
	for k, e := range p.Edges {
		if e.Finish == nil || e.Finish.Kind != pattern.FinishFold {
			continue
		}
		line := p.EdgeChain(k)
		a, b = line[0].A, line[len(line)-1].D
		in := b.Sub(a).Unit().Perp()
		return a.Add(in), b.Add(in), ease / 2
	}
	deg, ok := amend.GrainOf(p)
	if !ok {
		deg = 90
	}
	lo, hi := p.Knots.Flatten(0.5).Bounds()
	sin, cos := math.Sincos(deg * math.Pi / 180)
	a = lo.Lerp(hi, 0.5)
	return a, a.Add(geometry.Vec{X: 100 * cos, Y: 100 * sin}), ease
}

// grainMarks returns the grain of a piece as its direction.
func grainMarks(p pattern.Piece) []pattern.Mark {
	deg, ok := amend.GrainOf(p)
	if !ok {
		return nil
	}
	mark := pattern.Mark{ID: Own + "grain", Kind: pattern.MarkGrain, Deg: &deg}
	for _, m := range p.Marks {
		if m.Kind == pattern.MarkGrain {
			mark.Bias = m.Bias
			break
		}
	}
	return []pattern.Mark{mark}
}

// hung returns the notches and darts of the edges that are taken.
func hung(p pattern.Piece, takes func(edge string) bool) []pattern.Mark {
	var out []pattern.Mark
	for _, m := range p.Marks {
		if (m.Kind == pattern.MarkNotch || m.Kind == pattern.MarkDart) && takes(m.Edge) {
			out = append(out, m)
		}
	}
	return out
}
