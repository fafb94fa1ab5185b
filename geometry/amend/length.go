package amend

import (
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// Which end of an edge gives way when it gets longer.
const (
	MovesStart   = "start"
	MovesEnd     = "end"
	MovesNeither = "neither"
)

// Lengthen returns the piece with an edge longer by mm along the outline, or shorter where
// that is negative. [MovesEnd], also where empty, and [MovesStart] move that end along the
// line between both, and the edge keeps its depth; [MovesNeither] keeps both ends, and the
// edge gets deeper or flatter. What meets the end goes with it; notches keep their
// fractions. It fails with ErrOp or ErrMuch.
func Lengthen(p pattern.Piece, edge string, mm float64, moves string) (pattern.Piece, []geometry.Finding, error) {
	if err := checkAmount(mm); err != nil {
		return p, nil, err
	}
	k := p.Edge(edge)
	if k < 0 || len(p.Edges) < 2 {
		return p, nil, fmt.Errorf("%w: %s has no edge %q between two ends", ErrOp, p.Name, edge)
	}
	line := p.EdgeChain(k)
	stays, goes := line[0].A, line[len(line)-1].D
	if moves == MovesStart {
		stays, goes = goes, stays
	}
	if stays.Dist(goes) < 1 {
		return p, nil, fmt.Errorf("%w: the ends of %s lie in one place", ErrOp, p.Edges[k].Name)
	}
	dir := goes.Sub(stays).Unit()
	if moves == MovesNeither {
		dir = dir.Perp()
	}
	stretch := func(f float64) affine {
		return func(q geometry.Point) geometry.Point { return q.Add(dir.Scale((f - 1) * q.Sub(stays).Dot(dir))) }
	}
	want := geometry.ChainLength(line) + mm
	over := func(f float64) float64 {
		var l float64
		for _, s := range line {
			l += mapped(s, stretch(f)).Length()
		}
		return l - want
	}
	lo, hi := 0.2, 5.0
	if over(lo) > 0 || over(hi) < 0 {
		return p, nil, fmt.Errorf("%w: %s of %.1f mm cannot be made %.1f mm long in this way", ErrMuch, p.Edges[k].Name, geometry.ChainLength(line), want)
	}
	for range 60 {
		if m := (lo + hi) / 2; over(m) > 0 {
			hi = m
		} else {
			lo = m
		}
	}
	f := stretch((lo + hi) / 2)
	now := p
	now.Knots = slices.Clone(p.Knots)
	n, from, count := len(p.Knots), p.Edges[k].Knot, len(line)
	for j := range count + 1 {
		now.Knots[(from+j)%n] = movedKnot(p.Knots[(from+j)%n], f, j > 0, j < count)
	}
	return now, nil, sound(p, now)
}

// movedKnot moves a knot; a handle on the edge goes with it, one beside it with the knot.
func movedKnot(k geometry.Knot, f affine, in, out bool) geometry.Knot {
	at := f(k.At)
	by := at.Sub(k.At)
	handle := func(h *geometry.Point, on bool) *geometry.Point {
		if h == nil {
			return nil
		}
		q := h.Add(by)
		if on {
			q = f(*h)
		}
		return &q
	}
	now := geometry.Knot{At: at, In: handle(k.In, in), Out: handle(k.Out, out), Corner: k.Corner}
	if !k.Corner && now.In != nil && now.Out != nil {
		u, v := now.At.Sub(*now.In), now.Out.Sub(now.At)
		now.Corner = math.Abs(math.Atan2(u.Cross(v), u.Dot(v))) > smoothRad
	}
	return now
}

// Who gives way when the two sides of a seam are made to agree.
type Who string

// Both sides by half each, or one of them.
const (
	WhoBoth Who = "both"
	WhoA    Who = "a"
	WhoB    Who = "b"
)

// Match returns the garment with the two sides of a seam as long as the ease between them
// asks for: the difference is shared as who says, and on each side by its edges, as long
// as each is. The end where the sewing ends gives way, unless it lies on a fold; with flat
// both ends stay, and the edges get deeper or flatter. Lengths are those of the stitch
// lines. It fails with ErrOp where there is no such seam, its stitch lines are not known,
// or an edge cannot give way so far.
func Match(g pattern.Garment, pair string, who Who, flat bool) (pattern.Garment, error) {
	for range 4 { // a stitch line is not exactly as much longer as its edge
		row, err := seamRow(g, pair)
		if err != nil || math.Abs(row.OffMM) < 0.005 {
			return g, err
		}
		s := g.SeamPairs[slices.IndexFunc(g.SeamPairs, func(s pattern.SeamPair) bool { return s.ID == pair })]
		a, b := -row.OffMM, row.OffMM
		switch who {
		case WhoA:
			b = 0
		case WhoB:
			a = 0
		case WhoBoth, "":
			a, b = a/2, b/2
		default:
			return g, fmt.Errorf("%w: %q gives way; that is both, a or b", ErrOp, who)
		}
		for _, side := range []struct {
			runs []pattern.Run
			mm   float64
		}{{s.A, a}, {s.B, b}} {
			if g, err = give(g, side.runs, side.mm, flat); err != nil {
				return g, err
			}
		}
	}
	return g, nil
}

func seamRow(g pattern.Garment, pair string) (pattern.SeamRow, error) {
	report, err := pattern.Check(g)
	if err != nil {
		return pattern.SeamRow{}, err
	}
	for _, row := range report.Seams {
		if row.ID != pair {
			continue
		}
		if !row.Known {
			return row, fmt.Errorf("%w: the old allowances along %s are not all known; enter them first", ErrOp, row.Name)
		}
		return row, nil
	}
	return pattern.SeamRow{}, fmt.Errorf("%w: the garment has no seam %q", ErrOp, pair)
}

// give makes one side of a seam longer by mm in all.
func give(g pattern.Garment, runs []pattern.Run, mm float64, flat bool) (pattern.Garment, error) {
	if math.Abs(mm) < 0.01 {
		return g, nil
	}
	g.Pieces = slices.Clone(g.Pieces)
	var lengths []float64
	var whole float64
	for _, r := range runs {
		p, _ := g.Piece(r.Piece)
		lengths = append(lengths, geometry.ChainLength(p.EdgeChain(p.Edge(r.Edge))))
		whole += lengths[len(lengths)-1]
	}
	for i, r := range runs {
		j := slices.IndexFunc(g.Pieces, func(p pattern.Piece) bool { return p.ID == r.Piece })
		moves := MovesNeither
		if !flat {
			moves = givingEnd(g.Pieces[j], r)
		}
		now, _, err := Lengthen(g.Pieces[j], r.Edge, mm*lengths[i]/whole, moves)
		if err != nil {
			return g, err
		}
		g.Pieces[j] = now
	}
	return g, nil
}

// givingEnd returns the end where the sewing ends, unless it alone lies on a fold.
func givingEnd(p pattern.Piece, r pattern.Run) string {
	k, m := p.Edge(r.Edge), len(p.Edges)
	folds := func(k int) bool { f := p.Edges[(k+m)%m].Finish; return f != nil && f.Kind == pattern.FinishFold }
	start, end := folds(k-1), folds(k+1)
	if end && !start || r.Reverse && start == end {
		return MovesStart
	}
	return MovesEnd
}
