package lay

import (
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
)

// slack is how deep two pieces may lie in each other, as a part of the strip's
// width: 0.0015 mm on cloth of 1.5 m. It lets a search end.
const slack = 1e-6

// shape is a piece at one turn, on one face.
type shape struct {
	kind     int // index of the piece; -1: an obstacle
	turnDeg  float64
	mirrored bool
	atFold   bool
	parts    []geometry.Polyline
	lo, hi   geometry.Point
	size     float64 // the square root of its area
	// stepX and stepY are the repeats that its origin is held to, beginning at fromX
	// and fromY; 0 = it may lie anywhere.
	stepX, stepY, fromX, fromY float64
}

// item is one copy of a piece.
type item struct {
	kind   int
	shapes []int // those it may take
}

// table is what a search looks up and never changes.
type table struct {
	width, maxLength, minLength float64
	print                       Print
	shapes                      []shape
	items                       []item
	// kept are the shapes of obstacles; they lie at the origin.
	kept []int
	// regions[s*len(shapes)+t] is where t must not lie beside s, and scale what a mm
	// of depth counts there.
	regions []region
	scale   []float64
}

func newTable(in Instance) (*table, error) {
	if err := in.check(); err != nil {
		return nil, err
	}
	t := &table{width: in.WidthMM, maxLength: in.MaxLengthMM, minLength: in.MinLengthMM, print: in.Print}
	if t.maxLength == 0 {
		t.maxLength = math.Inf(1)
	}
	for k, p := range in.Pieces {
		if err := t.addPiece(k, p); err != nil {
			return nil, fmt.Errorf("piece %q: %w", p.ID, err)
		}
	}
	for _, o := range in.Kept {
		s, err := newShape(-1, o.Outline, 0, false)
		if err != nil {
			return nil, fmt.Errorf("kept place: %w", err)
		}
		t.kept = append(t.kept, len(t.shapes))
		t.shapes = append(t.shapes, s)
	}
	n := len(t.shapes)
	t.regions, t.scale = make([]region, n*n), make([]float64, n*n)
	beyond := make([]bool, n)
	for k, o := range in.Kept {
		beyond[t.kept[k]] = o.Edge
	}
	for i, a := range t.shapes {
		for j, b := range t.shapes[:i+1] {
			if a.kind < 0 && b.kind < 0 {
				continue // obstacles stay where they are
			}
			gap := in.GapMM - slack*in.WidthMM
			if beyond[i] || beyond[j] {
				gap = -slack * in.WidthMM
			}
			r := newRegion(a.parts, b.parts, gap)
			t.regions[i*n+j], t.regions[j*n+i] = r, r.negated()
			t.scale[i*n+j] = math.Sqrt(a.size * b.size)
			t.scale[j*n+i] = t.scale[i*n+j]
		}
	}
	return t, nil
}

// addPiece adds the shapes and copies of a piece. Turns at which it is wider than
// the cloth, or longer, are left out; when none is left, ErrTooWide or ErrTooLong is
// returned.
func (t *table) addPiece(kind int, p Piece) error {
	var straight, mirrored []int
	long := false
	for _, deg := range p.turns() {
		for _, m := range []bool{false, true} {
			if m && !p.AnyFace && p.Mirrored == 0 || !m && !p.AnyFace && p.Mirrored == p.Count {
				continue
			}
			if m && p.AtFold { // the same side stays at the fold
				deg += 180
			}
			s, err := newShape(kind, p.Outline, deg, m)
			if err != nil {
				return err
			}
			s.atFold = p.AtFold
			t.hold(&s, p)
			if lo, hi := t.place(s, math.MaxFloat64); s.hi.Y-s.lo.Y > t.width*(1+slack) || hi.Y < lo.Y {
				continue
			}
			if lo, hi := t.place(s, t.maxLength); hi.X < lo.X {
				long = true
				continue
			}
			if m {
				mirrored = append(mirrored, len(t.shapes))
			} else {
				straight = append(straight, len(t.shapes))
			}
			t.shapes = append(t.shapes, s)
		}
	}
	for i := range p.Count {
		it := item{kind: kind, shapes: straight}
		switch {
		case p.AnyFace:
			it.shapes = slices.Concat(straight, mirrored)
		case i >= p.Count-p.Mirrored:
			it.shapes = mirrored
		}
		if len(it.shapes) == 0 && long {
			return fmt.Errorf("%w, of which there is %.4g", ErrTooLong, t.maxLength)
		}
		if len(it.shapes) == 0 {
			if p.Anchor != nil && t.print.RepeatY > 0 && !p.FreeY {
				return fmt.Errorf("%w at the stripe that it must lie on; the cloth is %.4g wide", ErrTooWide, t.width)
			}
			return fmt.Errorf("%w, which is %.4g wide", ErrTooWide, t.width)
		}
		t.items = append(t.items, it)
	}
	return nil
}

func newShape(kind int, ring geometry.Polyline, deg float64, mirrored bool) (shape, error) {
	at := turned(ring, Placement{RotationDeg: deg, Mirrored: mirrored})
	parts, err := convexParts(outward(at))
	if err != nil {
		return shape{}, err
	}
	s := shape{kind: kind, turnDeg: deg, mirrored: mirrored, parts: parts, size: math.Sqrt(at.Area())}
	s.lo, s.hi = at.Bounds()
	return s, nil
}

// turned returns a ring as it is placed, counter-clockwise, without points that
// stand twice in a row.
func turned(ring geometry.Polyline, at Placement) geometry.Polyline {
	out := make(geometry.Polyline, 0, len(ring))
	for i, q := range ring {
		if q != before(ring, i) {
			out = append(out, at.Apply(q))
		}
	}
	if out.Area() < 0 {
		slices.Reverse(out)
	}
	return out
}

func (t *table) region(s, u int) *region { return &t.regions[s*len(t.shapes)+u] }

// hold holds a shape to the stripes of the print.
func (t *table) hold(s *shape, p Piece) {
	if p.Anchor == nil {
		return
	}
	at := Placement{RotationDeg: s.turnDeg, Mirrored: s.mirrored}.Apply(*p.Anchor)
	if t.print.RepeatX > 0 && !p.FreeX {
		s.stepX, s.fromX = t.print.RepeatX, t.print.AtX-at.X
	}
	if t.print.RepeatY > 0 && !p.FreeY {
		s.stepY, s.fromY = t.print.RepeatY, t.print.AtY-at.Y
	}
}

// room returns the positions at which a shape lies on a strip of that length. It
// is empty where lo passes hi.
func (t *table) room(s int, length float64) (lo, hi geometry.Point) {
	return t.place(t.shapes[s], length)
}

func (t *table) place(sh shape, length float64) (lo, hi geometry.Point) {
	lo = geometry.Point{X: -sh.lo.X, Y: -sh.lo.Y}
	hi = geometry.Point{X: length - sh.hi.X, Y: t.width - sh.hi.Y}
	if sh.atFold || hi.Y < lo.Y && hi.Y > lo.Y-slack*t.width {
		hi.Y = lo.Y
	}
	if sh.stepX > 0 {
		lo.X, hi.X = onGrid(lo.X, sh.fromX, sh.stepX, math.Ceil), onGrid(hi.X, sh.fromX, sh.stepX, math.Floor)
	}
	if sh.stepY > 0 {
		lo.Y, hi.Y = onGrid(lo.Y, sh.fromY, sh.stepY, math.Ceil), onGrid(hi.Y, sh.fromY, sh.stepY, math.Floor)
	}
	return lo, hi
}

// onGrid returns the place of a grid next to x, up, down or nearest.
func onGrid(x, from, step float64, round func(float64) float64) float64 {
	const same = 1e-9 // of a step: a place on the grid stays there
	k := (x - from) / step
	if near := math.Round(k); math.Abs(k-near) < same {
		k = near
	}
	return from + step*round(k)
}

// snapped returns a position moved to the stripes that the shape is held to.
func (s *shape) snapped(at geometry.Point) geometry.Point {
	if s.stepX > 0 {
		at.X = onGrid(at.X, s.fromX, s.stepX, math.Round)
	}
	if s.stepY > 0 {
		at.Y = onGrid(at.Y, s.fromY, s.stepY, math.Round)
	}
	return at
}
