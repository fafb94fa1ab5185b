package amend

import (
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// hinged is a piece whose part between two spots of its outline is turned about a point,
// while what lies between two others is taken out.
type hinged struct {
	ring     geometry.Path
	hinge    geometry.Point
	rad      float64
	from, to spot // the part that turns
	out      spot // where the part that stays ends: before from
	back     spot // where it begins again: after to
	region   geometry.Polyline
}

// made returns the piece with its part turned.
func (h hinged) made(p pattern.Piece) (pattern.Piece, []geometry.Finding, error) {
	f := turn(h.hinge, h.rad)
	bits := joined(h.ring, []stretch{{h.from, h.to, true, f}, {h.back, h.out, true, still}})
	if len(bits) < 2 {
		return p, nil, fmt.Errorf("%w: of %s no piece would be left", ErrMuch, p.Name)
	}
	bits = startedAt(bits, len(h.ring))
	for _, b := range bitsOf(h.ring, stretch{from: h.from, to: h.to, move: still}) {
		for _, t := range []float64{0, 0.25, 0.5, 0.75} {
			h.region = append(h.region, b.At(t))
		}
	}
	h.region = append(h.region, h.to.on(h.ring), h.hinge)
	move := func(q geometry.Point) geometry.Point {
		if h.region.Contains(q) {
			return f(q)
		}
		return q
	}
	now, findings := carried(p, bits, func(s spot) (geometry.Point, bool) {
		switch {
		case h.between(s, h.from, h.to):
			return f(s.on(h.ring)), true
		case h.between(s, h.back, h.out):
			return s.on(h.ring), true
		}
		return geometry.Point{}, false
	})
	findings = append(findings, inside(&now, move, func(geometry.Point) bool { return false })...)
	now.Holes = nil
	for _, hole := range p.Holes {
		if h.region.Contains(middle(hole, spot{}, spot{})) {
			hole = hole.Map(f)
		}
		now.Holes = append(now.Holes, hole)
	}
	return now, findings, sound(p, now)
}

// between reports whether a spot lies on the ring from one to another.
func (h hinged) between(s, from, to spot) bool {
	n := float64(len(h.ring))
	return math.Mod(s.pos()-from.pos()+n, n) <= math.Mod(to.pos()-from.pos()+n, n)
}

// startedAt turns the list so that it begins with what comes of the lowest old knot.
func startedAt(bits []bit, n int) []bit {
	best, least := 0, float64(n)
	for i, b := range bits {
		if at := float64(b.src) + b.t0; b.src >= 0 && at < least {
			best, least = i, at
		}
	}
	return append(append([]bit{}, bits[best:]...), bits[:best]...)
}

// Spread returns the piece cut from where the line from a to b meets its outline near a,
// up to a hinge, where it meets it near b, and opened at a by mm; taken in where mm is
// negative. The part to the left turns. A straight line bridges the gap. It fails with
// ErrLine, ErrMuch or ErrOp.
func Spread(p pattern.Piece, a, b geometry.Point, mm float64) (pattern.Piece, []geometry.Finding, error) {
	if err := checkAmount(mm); err != nil {
		return p, nil, err
	}
	if a.Dist(b) < 1 {
		return p, nil, fmt.Errorf("%w: its two points are the same", ErrLine)
	}
	at, hinge, err := ends(p, a, b)
	if err != nil {
		return p, nil, err
	}
	h := hinged{ring: p.Knots, hinge: hinge.on(p.Knots), from: hinge, to: at, back: at, out: hinge}
	r := at.on(p.Knots).Sub(h.hinge)
	if math.Abs(mm) > r.Len() {
		return p, nil, fmt.Errorf("%w: a cut of %.0f mm cannot be opened or taken in by %.0f mm", ErrMuch, r.Len(), math.Abs(mm))
	}
	angle := 2 * math.Asin(math.Abs(mm)/2/r.Len())
	if mm > 0 {
		h.rad = -angle
		return h.made(p)
	}
	// The wedge that is taken out lies on the side that turns.
	to, ok := h.ray(turn(h.hinge, -angle)(at.on(p.Knots)), r.Len())
	if !ok {
		return p, nil, fmt.Errorf("%w: %s has no such wedge there", ErrMuch, p.Name)
	}
	h.to, h.rad = to, angle
	return h.made(p)
}

// ends returns where the line through a and b meets the outline nearest to each.
func ends(p pattern.Piece, a, b geometry.Point) (at, hinge spot, err error) {
	all := through(a, b).crossings(p.Knots, 0)
	if len(all) < 2 {
		return at, hinge, fmt.Errorf("%w: it does not cross %s", ErrLine, p.Name)
	}
	near := func(q geometry.Point) spot {
		best := all[0]
		for _, s := range all {
			if s.on(p.Knots).Dist(q) < best.on(p.Knots).Dist(q) {
				best = s
			}
		}
		return best
	}
	if at, hinge = near(a), near(b); at == hinge {
		return at, hinge, fmt.Errorf("%w: both its points lie nearest to the same place of the outline", ErrLine)
	}
	return at, hinge, nil
}

// ray returns where the outline meets the ray from the hinge through a point, at about a
// distance.
func (h hinged) ray(to geometry.Point, far float64) (spot, bool) {
	dir := to.Sub(h.hinge).Unit()
	var best spot
	least := math.Inf(1)
	for _, s := range through(h.hinge, to).crossings(h.ring, 0) {
		v := s.on(h.ring).Sub(h.hinge)
		if d := math.Abs(v.Len() - far); v.Dot(dir) > sameMM && d < least && h.between(s, h.from, h.to) {
			best, least = s, d
		}
	}
	return best, least < far/2
}

// CloseDart returns the piece with a dart closed and the piece opened from a point of its
// outline to the dart's tip instead, as when the paper is cut there and the dart pinned
// shut. What lies between turns about the tip; a straight line bridges the gap. The dart's
// mark goes. It fails with ErrLine, ErrMuch or ErrOp.
func CloseDart(p pattern.Piece, mark string, to geometry.Point) (pattern.Piece, []geometry.Finding, error) {
	i, d, err := dartOf(p, mark)
	if err != nil {
		return p, nil, err
	}
	a, b := d.a.on(p.Knots), d.b.on(p.Knots)
	slit := spotNear(p.Knots, to)
	h := hinged{ring: p.Knots, hinge: d.tip, from: d.b, to: slit, back: slit, out: d.a}
	u, v := a.Sub(d.tip), b.Sub(d.tip)
	if math.Min(u.Len(), v.Len()) < 1 || h.between(slit, d.a, d.b) {
		return p, nil, fmt.Errorf("%w: choose a place of the outline outside the dart to open %s at", ErrLine, p.Name)
	}
	h.rad = math.Atan2(v.Cross(u), v.Dot(u))
	if gap := slit.on(p.Knots).Dist(d.tip); gap < 1 {
		return p, nil, fmt.Errorf("%w: the dart's tip lies on the outline there already", ErrLine)
	}
	was := p
	p.Marks = append(append([]pattern.Mark{}, p.Marks[:i]...), p.Marks[i+1:]...)
	now, findings, err := h.made(p)
	if err != nil {
		return was, nil, err
	}
	if off := math.Abs(u.Len() - v.Len()); off > 1 {
		findings = append(findings, geometry.Finding{
			Code: "dart-legs", Severity: geometry.SeverityWarning, Piece: p.ID, Where: &a, Amount: off, Limit: 1,
			Message: fmt.Sprintf("%s: the legs of the dart differ by %.1f mm, so that the edge has a step where it was closed.", p.Name, off),
			Remedy:  "Make the edge smooth there.",
		})
	}
	return now, findings, nil
}

// spotNear returns the spot of a ring nearest to a point.
func spotNear(ring geometry.Path, q geometry.Point) spot {
	best, least := spot{}, math.Inf(1)
	for i := range ring {
		if t, d := ring.Segment(i).Nearest(q); d < least-sameMM {
			best, least = spotAt(ring, i, math.Min(t, 1)), d
		}
	}
	return best
}
