package pattern

import (
	"math"
	"slices"

	"secondcut/geometry"
)

// NotchProposal is a notch that a seam could have on both sides, offered and never set
// by itself.
type NotchProposal struct {
	// Pair is the id of the seam pair, Name its name.
	Pair string `json:"pair"`
	Name string `json:"name"`
	// AtMM is the distance along both sides in mm, from where the sewing begins.
	AtMM float64 `json:"at_mm"`
	// Count is 1, 2 or 3.
	Count int `json:"count"`
	// Why says what it is good for.
	Why string `json:"why"`
	// Marks are what to add to pieces; a side that has the notch is not among them.
	Marks []ProposedMark `json:"marks"`
}

// ProposedMark is a mark to add to a piece; the ids are free there.
type ProposedMark struct {
	Piece string `json:"piece"`
	Mark  Mark   `json:"mark"`
}

// Where notches are offered on seams that have none. One nearer to one end than to the
// other also tells the ends apart (judgement; common practice, no source).
const (
	notchSeamMM = 150.0 // shortest seam
	notchLongMM = 500.0 // from here on two
)

// propose offers notches for a seam: those that one side has alone, or else, where
// neither has any, one or two that tell its ends apart.
func (c *checker) propose(s SeamPair, a, b walked) {
	shorter := math.Min(a.length, b.length)
	switch {
	case len(a.notches) > 0 && len(b.notches) == 0, len(a.notches) == 0 && len(b.notches) > 0:
		for _, n := range append(a.notches, b.notches...) {
			c.offer(s, n.at, n.count, "One side has this notch; the other needs it at the same distance.")
		}
	case len(a.notches)+len(b.notches) > 0 || shorter < notchSeamMM:
	case shorter < notchLongMM:
		c.offer(s, round5(0.4*shorter), 1, "The seam has no notch; one tells its ends apart and keeps both sides together.")
	default:
		c.offer(s, round5(shorter/3), 1, "A long seam is kept together by notches; the single one stands nearer to its beginning.")
		c.offer(s, round5(0.75*shorter), 2, "A long seam is kept together by notches; the double one stands nearer to its end.")
	}
}

// round5 rounds to 5 mm, so that a notch is found with a ruler.
func round5(mm float64) float64 { return 5 * math.Round(mm/5) }

func (c *checker) offer(s SeamPair, mm float64, count int, why string) {
	p := NotchProposal{Pair: s.ID, Name: s.Name, AtMM: mm, Count: count, Why: why}
	for _, side := range [][]Run{s.A, s.B} {
		r, at, length, ok := spot(side, mm, func(r Run) float64 { return geometry.ChainLength(c.line(r)) })
		if !ok {
			return // beyond the end of a side
		}
		m := Mark{ID: "notch", Kind: MarkNotch, Edge: r.Edge, At: at, Count: count}
		piece := c.pieces[r.Piece].piece
		if !piece.hasNotch(m, length) {
			m.ID = c.freeID(piece, p)
			p.Marks = append(p.Marks, ProposedMark{r.Piece, m})
		}
	}
	if len(p.Marks) > 0 {
		c.report.Notches = append(c.report.Notches, p)
	}
}

// freeID returns an id for a mark that neither the piece nor a proposal for it has.
func (c *checker) freeID(p Piece, now NotchProposal) string {
	p.Marks = slices.Clone(p.Marks)
	for _, n := range append(c.report.Notches, now) {
		for _, m := range n.Marks {
			if m.Piece == p.ID {
				p.Marks = append(p.Marks, m.Mark)
			}
		}
	}
	return freeID(p, "notch")
}

// spot returns the run on which a distance along a side of a seam falls, the fraction
// of its edge there, in the direction of the outline, and the length of the edge.
func spot(runs []Run, mm float64, length func(Run) float64) (r Run, at, l float64, ok bool) {
	for n, r := range runs {
		l := length(r)
		if mm > l && n < len(runs)-1 {
			mm -= l
			continue
		}
		at := mm / l
		if r.Reverse {
			at = 1 - at
		}
		return r, at, l, mm >= 0 && mm <= l
	}
	return Run{}, 0, 0, false
}

// hasNotch reports whether a piece has a like notch within half a millimetre of one on
// an edge of the given length.
func (p Piece) hasNotch(m Mark, length float64) bool {
	const same = 0.5
	return slices.ContainsFunc(p.Marks, func(o Mark) bool {
		return o.Kind == MarkNotch && o.Edge == m.Edge && o.count() == m.count() && math.Abs(o.At-m.At)*length < same
	})
}
