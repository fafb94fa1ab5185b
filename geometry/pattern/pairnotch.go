package pattern

import (
	"fmt"
	"math"
	"slices"
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
	left := mm
	for n, r := range runs {
		i := slices.IndexFunc(g.Pieces, func(p Piece) bool { return p.ID == r.Piece })
		s, err := stitch(g, i)
		if err != nil {
			return err
		}
		l := chainLength(s.edge(s.piece.Edge(r.Edge)))
		if left > l && n < len(runs)-1 {
			left -= l
			continue
		}
		if !(left >= 0 && left <= l) {
			break
		}
		m.Edge, m.At = r.Edge, left/l
		if r.Reverse {
			m.At = 1 - m.At
		}
		p := &g.Pieces[i]
		const same = 0.5 // mm
		if slices.ContainsFunc(p.Marks, func(o Mark) bool {
			return o.Kind == MarkNotch && o.Edge == m.Edge && o.count() == m.count() && math.Abs(o.At-m.At)*l < same
		}) {
			return nil
		}
		m.ID = freeID(*p, m.ID)
		p.Marks = append(slices.Clone(p.Marks), m)
		return nil
	}
	return wrong("at", "is %g mm along the seam, beyond one of its sides", mm)
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
