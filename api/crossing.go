package api

import (
	"cmp"
	"math"
	"slices"

	"secondcut/geometry"
)

// OutlineFindings says what is odd about an outline that may be kept all the
// same: that it crosses itself, or runs the wrong way round. Chords lie within
// 0.1 mm of the curve (a 5000th of a large outline's width) for this check, so
// loops smaller than that are not seen.
func OutlineFindings(outer geometry.Path, holes []geometry.Path) []geometry.Finding {
	found := []geometry.Finding{}
	for _, p := range append([]geometry.Path{outer}, holes...) {
		if at, ok := selfCrossing(p.Flatten(chordTolerance(p))); ok {
			found = append(found, geometry.Finding{
				Code: "crosses-itself", Severity: geometry.SeverityWarning, Where: &at,
				Message: "The outline crosses itself.",
				Remedy:  "Move or delete the knots beside the crossing before you cut.",
			})
		}
	}
	return found
}

func chordTolerance(p geometry.Path) float64 {
	var knots geometry.Polyline
	for _, k := range p {
		knots = append(knots, k.At)
	}
	lo, hi := knots.Bounds()
	return math.Max(0.1, lo.Dist(hi)/5000)
}

// maxComparisons bounds the work on outlines made to be slow (about 0.2 s); an
// ordinary outline needs a few thousand comparisons.
const maxComparisons = 20_000_000

// span is one chord of a ring with its extent in x.
type span struct {
	i      int
	lo, hi float64
	a, b   geometry.Point
}

// selfCrossing returns a point in which two chords of the ring that are not
// neighbours properly cross. Chords are taken from left to right and compared
// with those that still overlap them in x (plane sweep without a tree: quick for
// outlines, quadratic at worst).
func selfCrossing(ring geometry.Polyline) (geometry.Point, bool) {
	spans := make([]span, len(ring))
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		spans[i] = span{i, math.Min(a.X, b.X), math.Max(a.X, b.X), a, b}
	}
	slices.SortFunc(spans, func(s, t span) int { return cmp.Compare(s.lo, t.lo) })
	var open []span
	done := 0
	for _, s := range spans {
		open = slices.DeleteFunc(open, func(t span) bool { return t.hi < s.lo })
		for _, t := range open {
			if gap := (s.i - t.i + len(ring)) % len(ring); gap <= 1 || gap == len(ring)-1 {
				continue
			}
			if at, ok := cross(s.a, s.b, t.a, t.b); ok {
				return at, true
			}
		}
		if done += 2 * len(open); done > maxComparisons {
			break
		}
		open = append(open, s)
	}
	return geometry.Point{}, false
}

// cross returns where the lines a-b and c-d properly cross.
func cross(a, b, c, d geometry.Point) (geometry.Point, bool) {
	u, v, w := b.Sub(a), d.Sub(c), c.Sub(a)
	den := u.Cross(v)
	if den == 0 {
		return geometry.Point{}, false
	}
	s, t := w.Cross(v)/den, w.Cross(u)/den
	if s <= 0 || s >= 1 || t <= 0 || t >= 1 {
		return geometry.Point{}, false
	}
	return a.Add(u.Scale(s)), true
}
