package amend

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// Errors of changing a piece. Each is wrapped in a sentence for the person.
var (
	// ErrLine says that a line does not cut the piece in two where it should.
	ErrLine = errors.New("the line does not fit the piece")
	// ErrMuch says that more would be taken out than there is.
	ErrMuch = errors.New("there is not so much to take out")
	// ErrOp says that what is to be done is not said properly.
	ErrOp = errors.New("the change cannot be read")
)

// MaxMM is the most by which a piece is opened or taken in at once: no garment changes
// by more (judgement), and a slip of typing does.
const MaxMM = 500.0

// CodeBridged is the code of the finding that an edge was bridged by a straight line.
const CodeBridged = "edge-bridged"

// How the edges that a line crosses are drawn when the piece is opened along it.
const (
	// JoinEven draws each crossed edge out evenly from corner to corner: a straight
	// edge stays straight, a curve runs on, no knot is added, and the opposite undoes it.
	JoinEven = "even"
	// JoinCut leaves both parts as they are, and bridges the gap by a straight line, as
	// paper that is cut, moved and glued.
	JoinCut = "cut"
)

// Open returns the piece cut along the line from a to b, which runs on beyond both, and
// its part to the left of that moved away by mm, or towards the rest where mm is
// negative: then a strip of that width is taken out. A line square to the grain lengthens
// or shortens, one along it widens or narrows. join is [JoinEven], also where empty, or
// [JoinCut]; edges that begin and end on the same side are always bridged. The piece's
// frame stays. It fails with ErrLine, ErrMuch or ErrOp.
func Open(p pattern.Piece, a, b geometry.Point, mm float64, join string) (pattern.Piece, []geometry.Finding, error) {
	if err := checkAmount(mm); err != nil {
		return p, nil, err
	}
	if a.Dist(b) < 1 {
		return p, nil, fmt.Errorf("%w: its two points are the same", ErrLine)
	}
	o := opening{line: through(a, b), by: mm, out: math.Max(-mm, 0), even: join != JoinCut}
	parts, err := o.stretches(p.Knots, p.Name)
	if err != nil {
		return p, nil, err
	}
	bits := startedAt(joined(p.Knots, parts), len(p.Knots))
	now, findings := carried(p, bits, func(s spot) (geometry.Point, bool) { return o.notch(p.Knots, parts, s) })
	findings = append(findings, inside(&now, o.move, o.gone)...)
	holes, more := o.holes(p)
	now.Holes = holes
	if o.even && slices.ContainsFunc(bits, func(b bit) bool { return b.src < 0 && b.Length() > 0.05 }) {
		more = append(more, bridgedFinding(p))
	}
	return now, append(findings, more...), sound(p, now)
}

func bridgedFinding(p pattern.Piece) geometry.Finding {
	return geometry.Finding{
		Code: CodeBridged, Severity: geometry.SeverityInfo, Piece: p.ID,
		Message: p.Name + ": where the line crosses an edge that begins and ends on the same side of it, the gap is bridged by a straight line.",
		Remedy:  "Look at it, and make the edge smooth where it should be.",
	}
}

// checkAmount wants an amount that is some and not absurd.
func checkAmount(mm float64) error {
	switch {
	case math.IsNaN(mm) || math.IsInf(mm, 0):
		return fmt.Errorf("%w: the amount is no number", ErrOp)
	case math.Abs(mm) < 0.01:
		return fmt.Errorf("%w: the amount is nought; say by how many mm", ErrOp)
	case math.Abs(mm) > MaxMM:
		return fmt.Errorf("%w: %g mm are more than the %g mm by which a piece is changed at once; perhaps it was typed in another unit", ErrOp, math.Abs(mm), MaxMM)
	}
	return nil
}

// sound refuses a change that leaves no piece.
func sound(was, now pattern.Piece) error {
	if err := now.Validate(); err != nil {
		return fmt.Errorf("%w: of %s no piece would be left", ErrMuch, was.Name)
	}
	return nil
}

// opening is a piece being opened along a line.
type opening struct {
	line
	by   float64 // how far the left part moves
	out  float64 // the width of the strip that is taken out
	even bool
}

// side says where a point lies: -1 stays, 1 moves, 0 is taken out.
func (o opening) side(q geometry.Point) int {
	switch off := o.off(q); {
	case off <= 2e-7:
		return -1
	case off > o.out:
		return 1
	}
	return 0
}

func (o opening) gone(q geometry.Point) bool { return o.side(q) == 0 && o.out > 0 }

// move takes a point of the piece along; one that is taken out goes onto the line.
func (o opening) move(q geometry.Point) geometry.Point {
	switch o.side(q) {
	case 1:
		return q.Add(o.normal.Scale(o.by))
	case 0:
		return q.Add(o.normal.Scale(-o.off(q)))
	}
	return q
}

// boundary is a place on a ring where a stretch begins.
type boundary struct {
	spot
	fresh bool
	run   affine // what draws out the run that begins here; nil where none does
}

// stretches cuts a ring where the line crosses it, and into the runs that are drawn out.
func (o opening) stretches(ring geometry.Path, name string) ([]stretch, error) {
	low := o.crossings(ring, 0)
	if len(low) == 0 {
		return nil, fmt.Errorf("%w: it does not cross %s", ErrLine, name)
	}
	top := low
	if o.out > 0 {
		if top = o.crossings(ring, o.out); len(top) == 0 {
			return nil, fmt.Errorf("%w: on that side of the line %s is less than %.1f mm deep", ErrMuch, name, o.out)
		}
	}
	var bounds []boundary
	drawn := o.runs(ring)
	within := func(s spot) bool {
		return slices.ContainsFunc(drawn, func(r run) bool { return r.holds(s, len(ring)) })
	}
	for _, s := range low {
		if !within(s) {
			bounds = append(bounds, boundary{spot: s, fresh: true})
		}
	}
	if o.out > 0 {
		for _, s := range top {
			if !within(s) {
				bounds = append(bounds, boundary{spot: s, fresh: true})
			}
		}
	}
	for _, r := range drawn {
		bounds = append(bounds, boundary{spot{r.from, 0}, false, r.move}, boundary{spot: spot{r.to, 0}})
	}
	return o.listed(ring, bounds), nil
}

// listed makes stretches of where they begin.
func (o opening) listed(ring geometry.Path, bounds []boundary) []stretch {
	slices.SortStableFunc(bounds, func(a, b boundary) int {
		// Of two in one place, the one that ends a run comes first.
		return cmp.Or(cmp.Compare(a.pos(), b.pos()), cmp.Compare(begins(a), begins(b)))
	})
	var out []stretch
	n := len(bounds)
	for i, b := range bounds {
		next := bounds[(i+1)%n]
		s := stretch{from: b.spot, to: next.spot, fresh: b.fresh, move: b.run}
		if b.spot == next.spot && n > 1 { // one run ends where another begins
			continue
		}
		if s.move == nil {
			switch o.side(middle(ring, b.spot, next.spot)) {
			case 0:
				continue
			case 1:
				s.move = shift(o.normal.Scale(o.by))
			default:
				s.move = still
			}
		}
		out = append(out, s)
	}
	return out
}

func begins(b boundary) int {
	if b.run != nil {
		return 1
	}
	return 0
}

// middle returns a point of a ring between two spots, not at a knot that may lie on the
// line.
func middle(ring geometry.Path, from, to spot) geometry.Point {
	n := float64(len(ring))
	gap := math.Mod(to.pos()-from.pos()+n, n)
	if gap == 0 {
		gap = n
	}
	best, far := 0.4871*gap, 0.0
	a, b := from.on(ring), to.on(ring)
	for _, f := range []float64{0.1273, 0.3119, 0.4871, 0.6907, 0.8713} {
		at := math.Mod(from.pos()+f*gap, n)
		q := ring.Segment(int(at)).At(at - math.Floor(at))
		if d := math.Min(q.Dist(a), q.Dist(b)); d > far {
			best, far = f*gap, d
		}
	}
	at := math.Mod(from.pos()+best, n)
	return ring.Segment(int(at)).At(at - math.Floor(at))
}

// run is what lies between two corners of a ring, drawn out evenly.
type run struct {
	from, to int
	move     affine
}

func (r run) holds(s spot, n int) bool {
	return math.Mod(s.pos()-float64(r.from)+float64(n), float64(n)) < float64((r.to-r.from+n)%n)
}

// runs returns the runs that the line crosses from side to side. Each is stretched in
// the line's normal from its lower end, which stays, to its upper one, which moves: an
// affine map, so that it is exact for curves and undone by its inverse.
func (o opening) runs(ring geometry.Path) []run {
	if !o.even {
		return nil
	}
	var corners []int
	for i, k := range ring {
		if k.Corner {
			corners = append(corners, i)
		}
	}
	if len(corners) < 2 {
		return nil
	}
	var out []run
	for j, c := range corners {
		end := corners[(j+1)%len(corners)]
		a, b := o.side(ring[c].At), o.side(ring[end].At)
		if a*b != -1 {
			continue
		}
		low, high := o.off(ring[c].At), o.off(ring[end].At)
		if a > 0 {
			low, high = high, low
		}
		k := (high - low + o.by) / (high - low)
		if k < 0.05 {
			continue // nearly all of it: what is left of it has no shape worth keeping
		}
		out = append(out, run{c, end, func(q geometry.Point) geometry.Point {
			return q.Add(o.normal.Scale((k - 1) * (o.off(q) - low)))
		}})
	}
	return out
}

// notch says where a spot of the outline has gone: as far from the line as it was on
// its own side, whatever was drawn out.
func (o opening) notch(ring geometry.Path, parts []stretch, s spot) (geometry.Point, bool) {
	q := s.on(ring)
	if o.gone(q) {
		return q, false
	}
	n := float64(len(ring))
	for _, p := range parts {
		gap := math.Mod(p.to.pos()-p.from.pos()+n, n)
		if gap == 0 {
			gap = n
		}
		if math.Mod(s.pos()-p.from.pos()+n, n) > gap {
			continue
		}
		return o.level(ring, p, s, o.off(o.move(q))), true
	}
	return o.move(q), true
}

// level returns the point of a mapped stretch at a distance from the line, that nearest
// to where the spot itself was mapped.
func (o opening) level(ring geometry.Path, p stretch, s spot, off float64) geometry.Point {
	at := p.move(s.on(ring))
	best, least := at, math.Inf(1)
	for _, b := range bitsOf(ring, p) {
		f := [4]float64{o.off(b.A) - off, o.off(b.B) - off, o.off(b.C) - off, o.off(b.D) - off}
		if !b.Curved {
			f[1], f[2] = f[0]+(f[3]-f[0])/3, f[0]+2*(f[3]-f[0])/3
		}
		for _, t := range roots(f) {
			if q := b.At(t); q.Dist(at) < least {
				best, least = q, q.Dist(at)
			}
		}
	}
	return best
}

// holes opens the holes as the outline. One that lies in a strip that is taken out goes
// with it.
func (o opening) holes(p pattern.Piece) ([]geometry.Path, []geometry.Finding) {
	var out []geometry.Path
	var findings []geometry.Finding
	for _, h := range p.Holes {
		parts, err := o.stretches(h, "the hole")
		if err == nil {
			if bits, _ := healed(joined(h, parts), func(int) bool { return false }); len(bits) > 1 {
				out = append(out, pathOf(bits))
				continue
			}
		}
		if q := middle(h, spot{}, spot{}); errors.Is(err, ErrLine) && !o.gone(q) {
			out = append(out, h.Map(o.move))
			continue
		}
		findings = append(findings, geometry.Finding{
			Code: "hole-gone", Severity: geometry.SeverityWarning, Piece: p.ID, Where: &h[0].At,
			Message: p.Name + ": a hole lay in what was taken out, and is gone.",
			Remedy:  "Take the change back if it is needed.",
		})
	}
	return out, findings
}
