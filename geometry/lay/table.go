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
}

// item is one copy of a piece.
type item struct {
	kind   int
	shapes []int // those it may take
}

// table is what a search looks up and never changes.
type table struct {
	width, maxLength float64
	shapes           []shape
	items            []item
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
	t := &table{width: in.WidthMM, maxLength: in.MaxLengthMM}
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
	gap := in.GapMM - slack*in.WidthMM
	for i, a := range t.shapes {
		for j, b := range t.shapes[:i+1] {
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
			if s.atFold = p.AtFold; s.hi.Y-s.lo.Y > t.width*(1+slack) {
				continue
			}
			if s.hi.X-s.lo.X > t.maxLength {
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

// room returns the positions at which a shape lies on a strip of that length. It
// is empty where lo passes hi.
func (t *table) room(s int, length float64) (lo, hi geometry.Point) {
	sh := &t.shapes[s]
	lo = geometry.Point{X: -sh.lo.X, Y: -sh.lo.Y}
	hi = geometry.Point{X: length - sh.hi.X, Y: t.width - sh.hi.Y}
	if sh.atFold || hi.Y < lo.Y {
		hi.Y = lo.Y
	}
	return lo, hi
}
