package pattern

import (
	"math"

	"secondcut/geometry"
)

// What a stretch in doubt may be off by where nobody said it: three times what the
// piece is, 2 mm at least (judgement, no source).
const (
	doubtTimes   = 3.0
	doubtLeastMM = 2.0
)

// Doubts says how uncertain each place of the outline of a piece is.
type Doubts struct {
	piece float64
	spans []doubtSpan
}

// doubtSpan is a stretch from one position on the outline to another.
type doubtSpan struct{ from, to, mm float64 }

// Doubts returns how uncertain each place of the outline is, as UncertaintyMM and
// Unsure say. A stretch that lies on a hole does not count.
func (p Piece) Doubts() Doubts {
	d := Doubts{piece: p.UncertaintyMM}
	for _, s := range p.Unsure {
		from, off := positionOf(p.Knots, s.From)
		to, far := positionOf(p.Knots, s.To)
		mm := s.UncertaintyMM
		if mm == 0 {
			mm = math.Max(doubtTimes*p.UncertaintyMM, doubtLeastMM)
		}
		if math.Max(off, far) > 2*math.Max(mm, doubtLeastMM) {
			continue
		}
		d.spans = append(d.spans, doubtSpan{from, to, mm})
	}
	return d
}

// positionOf returns the place of the outline nearest to a point, as index of the
// segment and parameter in it, and its distance in mm.
func positionOf(knots geometry.Path, q geometry.Point) (pos, dist float64) {
	dist = math.Inf(1)
	for j := range knots {
		if t, d := nearestOn(knots.Segment(j), q, 16); d < dist {
			pos, dist = float64(j)+t, d
		}
	}
	return math.Mod(pos, float64(len(knots))), dist
}

// At returns the distance in mm within which 95 % of the true edge is expected to lie
// from the outline at a position: index of the segment and parameter in it. Of
// stretches that overlap the widest counts.
func (d Doubts) At(pos float64) float64 {
	most := d.piece
	for _, s := range d.spans {
		inside := pos >= s.from && pos <= s.to
		if s.from >= s.to { // past the first knot; or all round
			inside = pos >= s.from || pos <= s.to
		}
		if inside {
			most = math.Max(most, s.mm)
		}
	}
	return most
}

// Bounds returns the positions where stretches in doubt begin and end.
func (d Doubts) Bounds() []float64 {
	var out []float64
	for _, s := range d.spans {
		out = append(out, s.from, s.to)
	}
	return out
}
