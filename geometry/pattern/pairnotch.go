package pattern

import (
	"fmt"
	"slices"

	"secondcut/geometry"
)

// PairNotch returns the garment with a notch on both sides of a seam pair, each at
// the same distance in mm from where the sewing begins (or, with fromEnd, from where
// it ends), walked along the stitch lines. like gives count, shape, depth, direction
// and the beginning of the ids. A side that has such a notch there already keeps it.
// It fails with ErrInvalid when there is no such pair or a side is shorter, and with
// ErrDraft when a stitch line cannot be drawn.
func PairNotch(g Garment, pair string, mm float64, fromEnd bool, like Mark) (Garment, error) {
	if err := g.Validate(); err != nil {
		return g, err
	}
	i := slices.IndexFunc(g.SeamPairs, func(s SeamPair) bool { return s.ID == pair })
	if i < 0 {
		return g, wrong("seam_pairs", "have no pair %q", pair)
	}
	g.Pieces = slices.Clone(g.Pieces)
	like.Kind = MarkNotch
	for _, runs := range [][]Run{g.SeamPairs[i].A, g.SeamPairs[i].B} {
		if fromEnd {
			runs = backwards(runs)
		}
		if err := setNotch(g, runs, mm, like); err != nil {
			return g, fmt.Errorf("%s: %w", g.SeamPairs[i].Name, err)
		}
	}
	return g, g.Validate()
}

// backwards returns the runs walked from the other end.
func backwards(runs []Run) []Run {
	out := slices.Clone(runs)
	slices.Reverse(out)
	for i := range out {
		out[i].Reverse = !out[i].Reverse
	}
	return out
}

// setNotch hangs a notch on the edge on which a distance along the runs falls.
func setNotch(g Garment, runs []Run, mm float64, m Mark) error {
	var failed error
	index := func(r Run) int { return slices.IndexFunc(g.Pieces, func(p Piece) bool { return p.ID == r.Piece }) }
	r, at, length, ok := spot(runs, mm, func(r Run) float64 {
		s, err := stitch(g, index(r))
		if err != nil {
			failed = err
			return 0
		}
		return geometry.ChainLength(s.edge(s.piece.Edge(r.Edge)))
	})
	if failed != nil {
		return failed
	}
	if !ok {
		return wrong("at", "is %g mm along the seam, beyond one of its sides", mm)
	}
	m.Edge, m.At = r.Edge, at
	p := &g.Pieces[index(r)]
	if p.hasNotch(m, length) {
		return nil
	}
	m.ID = freeID(*p, m.ID)
	p.Marks = append(slices.Clone(p.Marks), m)
	return nil
}

// freeID returns an id that no mark of the piece has, beginning with want.
func freeID(p Piece, want string) string {
	if want == "" {
		want = "notch"
	}
	id := want
	for n := 2; slices.ContainsFunc(p.Marks, func(m Mark) bool { return m.ID == id }); n++ {
		id = fmt.Sprintf("%s-%d", want, n)
	}
	return id
}
