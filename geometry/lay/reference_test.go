package lay_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/peterstace/simplefeatures/geom"

	"secondcut/geometry"
	"secondcut/geometry/lay"
	"secondcut/geometry/pattern"
)

// Laid pieces are compared with a library that knows nothing of this one:
// github.com/peterstace/simplefeatures.

func polygon(ring geometry.Polyline) geom.Polygon {
	xy := make([]float64, 0, 2*len(ring)+2)
	for _, p := range append(append(geometry.Polyline{}, ring...), ring[0]) {
		xy = append(xy, p.X, p.Y)
	}
	return geom.NewPolygon([]geom.LineString{geom.NewLineString(geom.NewSequence(xy, geom.DimXY))})
}

// verify holds a layout to everything that was asked of it: counts and faces, turns,
// the strip, and no two pieces deeper in each other than 0.01 mm (as area: 0.01 mm
// along the shorter piece).
func verify(t *testing.T, in lay.Instance, l lay.Layout) {
	t.Helper()
	pieces := map[string]lay.Piece{}
	for _, p := range in.Pieces {
		pieces[p.ID] = p
	}
	count, mirrored := map[string]int{}, map[string]int{}
	var laid []geom.Geometry
	var rings []geometry.Polyline
	for _, at := range l.Placements {
		p, ok := pieces[at.ID]
		if !ok {
			t.Fatalf("there is no piece %q", at.ID)
		}
		count[at.ID]++
		if at.Mirrored {
			mirrored[at.ID]++
		}
		turn := at.RotationDeg
		if p.AtFold && at.Mirrored {
			turn -= 180
		}
		if !allowed(p.TurnsDeg, turn) {
			t.Errorf("%s lies at %g degrees", at.ID, at.RotationDeg)
		}
		ring := p.Outline.Map(at.Apply)
		lo, hi := ring.Bounds()
		const edge = 0.01
		if lo.X < -edge || lo.Y < -edge || hi.X > l.LengthMM+edge || hi.Y > in.WidthMM+edge {
			t.Errorf("%s reaches off the cloth: %v to %v of %g x %g", at.ID, lo, hi, l.LengthMM, in.WidthMM)
		}
		if p.AtFold && math.Abs(lo.Y) > edge {
			t.Errorf("%s lies %.3f from the fold", at.ID, lo.Y)
		}
		rings, laid = append(rings, ring), append(laid, polygon(ring).AsGeometry())
	}
	for _, p := range in.Pieces {
		if count[p.ID] != p.Count || !p.AnyFace && mirrored[p.ID] != p.Mirrored {
			t.Errorf("%s: %d laid, %d of them mirrored; want %d and %d", p.ID, count[p.ID], mirrored[p.ID], p.Count, p.Mirrored)
		}
	}
	for _, at := range l.Placements {
		p := pieces[at.ID]
		if p.Anchor == nil {
			continue
		}
		q := at.Apply(*p.Anchor)
		for _, way := range []struct {
			off, repeat float64
			free        bool
		}{{q.X - in.Print.AtX, in.Print.RepeatX, p.FreeX}, {q.Y - in.Print.AtY, in.Print.RepeatY, p.FreeY}} {
			if way.repeat > 0 && !way.free && math.Abs(math.Remainder(way.off, way.repeat)) > 0.01 {
				t.Errorf("%s lies %.3f mm off its stripe", at.ID, math.Remainder(way.off, way.repeat))
			}
		}
	}
	for _, k := range in.Kept {
		rings, laid = append(rings, k.Outline), append(laid, polygon(k.Outline).AsGeometry())
	}
	for i := range laid {
		for j := range i {
			if i >= len(l.Placements) && j >= len(l.Placements) || apart(rings[i], rings[j]) {
				continue
			}
			over, err := geom.Intersection(laid[i], laid[j])
			if err != nil {
				t.Fatal(err)
			}
			if limit := 0.01 * math.Min(rings[i].Length(), rings[j].Length()); over.Area() > limit {
				t.Errorf("pieces %d and %d overlap by %.3g mm², at most %.3g", i, j, over.Area(), limit)
			}
			beyond := i >= len(l.Placements) && in.Kept[i-len(l.Placements)].Edge || j >= len(l.Placements) && in.Kept[j-len(l.Placements)].Edge
			if d, ok := geom.Distance(laid[i], laid[j]); ok && d < in.GapMM-0.01 && !beyond {
				t.Errorf("pieces %d and %d are %.3f mm apart, want %.3f", i, j, d, in.GapMM)
			}
		}
	}
}

func apart(a, b geometry.Polyline) bool {
	alo, ahi := a.Bounds()
	blo, bhi := b.Bounds()
	const far = 50
	return ahi.X+far < blo.X || bhi.X+far < alo.X || ahi.Y+far < blo.Y || bhi.Y+far < alo.Y
}

func allowed(turns []float64, deg float64) bool {
	if len(turns) == 0 {
		return deg == 0
	}
	for _, d := range turns {
		if d == deg {
			return true
		}
	}
	return false
}

// garment returns what may come off a sewing table: some ten pieces, straight-sided
// and curved, some with deep hollows, in pairs and single, at the fold, with a gap and
// a flaw in the cloth.
func garment(dice *rand.Rand) lay.Instance {
	in := lay.Instance{WidthMM: 700 + 800*dice.Float64()}
	if dice.IntN(2) == 0 {
		in.GapMM = 10 * dice.Float64()
	}
	for i := range 2 + dice.IntN(8) {
		p := lay.Piece{ID: string(rune('a' + i)), Count: 1 + dice.IntN(3), Outline: blob(dice)}
		p.Mirrored = dice.IntN(p.Count + 1)
		if dice.IntN(2) == 0 {
			p.TurnsDeg = []float64{0, 180}
		}
		if dice.IntN(6) == 0 {
			p.TurnsDeg = []float64{45, -45}
		}
		if dice.IntN(5) == 0 {
			p.AnyFace = true
		}
		if dice.IntN(8) == 0 {
			p.AtFold, p.Count, p.Mirrored, p.TurnsDeg = true, 1, 0, []float64{90}
		}
		in.Pieces = append(in.Pieces, p)
	}
	if dice.IntN(4) == 0 {
		in.Print = lay.Print{RepeatX: 20 + 100*dice.Float64(), AtX: 50 * dice.Float64()}
		if dice.IntN(2) == 0 {
			in.Print.RepeatY, in.Print.AtY = 20+60*dice.Float64(), 50*dice.Float64()
		}
		for i := range in.Pieces {
			if p := &in.Pieces[i]; dice.IntN(2) == 0 {
				p.Anchor, p.FreeY = &geometry.Point{X: 30 * dice.NormFloat64(), Y: 30 * dice.NormFloat64()}, p.AtFold
			}
		}
	}
	if dice.IntN(3) == 0 {
		x, y := 500*dice.Float64(), in.WidthMM*dice.Float64()
		in.Kept = []lay.Obstacle{{Outline: geometry.Polyline{{X: x, Y: y}, {X: x + 60, Y: y + 10}, {X: x + 20, Y: y + 70}}}}
	}
	return in
}

// sewable returns a garment of random pieces, some in pairs, some on the fold, some from
// their wrong side, and a cloth to lay it on: open or folded, with nap, gap, flaw, or a
// remnant.
func sewable(dice *rand.Rand) (pattern.Garment, lay.Cloth) {
	g := pattern.Garment{Format: pattern.Format, Name: "Random"}
	for i := range 1 + dice.IntN(6) {
		id := string(rune('a' + i))
		p := pattern.Piece{ID: id, Name: "Piece " + id, Label: &pattern.Label{}}
		ring := blob(dice)
		fold := dice.IntN(5) == 0
		if fold { // half a piece, its fold edge upright
			ring = geometry.Polyline{{}, {X: 150}, {X: 150, Y: 260}, {X: 60 * dice.Float64(), Y: 300 * (0.5 + dice.Float64())}}
		}
		for _, q := range ring {
			p.Knots = append(p.Knots, geometry.Knot{At: q, Corner: true})
		}
		p.Edges = []pattern.Edge{{ID: "e0", Name: "first"}, {ID: "e1", Name: "second", Knot: 1}, {ID: "e2", Name: "third", Knot: 2}}
		if fold {
			p.Edges[1].Finish = &pattern.Finish{Kind: pattern.FinishFold}
		}
		deg := 90.0
		p.Marks = []pattern.Mark{{ID: "grain", Kind: pattern.MarkGrain, Deg: &deg, Bias: !fold && dice.IntN(8) == 0}}
		cut := pattern.Cut{Count: 1 + dice.IntN(3)}
		if !fold && dice.IntN(2) == 0 {
			cut = pattern.Cut{Count: 2 * (1 + dice.IntN(2)), Mirrored: true}
		}
		p.Label.Cuts = []pattern.Cut{cut}
		if dice.IntN(3) == 0 {
			p.Face = pattern.FaceWrong
		}
		g.Pieces = append(g.Pieces, p)
	}
	c := lay.Cloth{
		WidthMM: 1400 + 200*dice.Float64(), Spread: []lay.Spread{lay.Open, lay.Lengthwise, lay.Crosswise}[dice.IntN(3)],
		Nap: dice.IntN(2) == 0, RightSideOut: dice.IntN(2) == 0, GapMM: float64(dice.IntN(2)) * 8 * dice.Float64(),
	}
	if dice.IntN(3) == 0 {
		x, y := 400*dice.Float64(), 500*dice.Float64()
		c.Flaws = []geometry.Polyline{{{X: x, Y: y}, {X: x + 60, Y: y + 10}, {X: x + 20, Y: y + 70}}}
	}
	if dice.IntN(4) == 0 {
		c.Remnant = geometry.Polyline{{}, {X: 3500}, {X: 3400, Y: 900}, {X: 2200, Y: 1000 + 200*dice.Float64()}, {X: 1500, Y: 700}, {X: 200, Y: 900}}
	}
	return g, c
}

// symmetric reports whether a piece whose grain runs up is its own mirror image: left to
// right, or, where it may lie either way up, top to bottom. What lies in one alone is no
// more than a seam of half a millimetre all round.
func symmetric(t *testing.T, p pattern.Piece, nap bool) bool {
	t.Helper()
	ring := p.Knots.Flatten(0.05)
	lo, hi := ring.Bounds()
	mirrors := []func(geometry.Point) geometry.Point{func(q geometry.Point) geometry.Point { return geometry.Point{X: lo.X + hi.X - q.X, Y: q.Y} }}
	if !nap {
		mirrors = append(mirrors, func(q geometry.Point) geometry.Point { return geometry.Point{X: q.X, Y: lo.Y + hi.Y - q.Y} })
	}
	for _, m := range mirrors {
		alone, err := geom.SymmetricDifference(polygon(ring).AsGeometry(), polygon(ring.Map(m)).AsGeometry())
		if err != nil {
			t.Fatal(err)
		}
		if alone.Area() < 0.5*ring.Length() {
			return true
		}
	}
	return false
}

// blob returns a ring of 3 to 60 points whose radius varies, more or less.
func blob(dice *rand.Rand) geometry.Polyline {
	n := 3 + dice.IntN(58)
	wide, long, rough := 40+200*dice.Float64(), 40+300*dice.Float64(), 0.5*dice.Float64()
	ring := make(geometry.Polyline, n)
	phase := 6 * dice.Float64()
	for i := range ring {
		a := 2 * math.Pi * float64(i) / float64(n)
		r := 1 + rough*math.Sin(3*a+phase) + 0.3*rough*dice.Float64()
		s, c := math.Sincos(a)
		ring[i] = geometry.Point{X: long * r * c, Y: wide * r * s}
	}
	return ring
}
