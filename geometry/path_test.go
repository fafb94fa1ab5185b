package geometry_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"

	"secondcut/geometry"
)

func pt(x, y float64) geometry.Point { return geometry.Point{X: x, Y: y} }

func cubic(a, b, c, d geometry.Point) geometry.Segment {
	return geometry.Segment{A: a, B: b, C: c, D: d, Curved: true}
}

// quadrature integrates the speed by Simpson's rule, as an independent check of
// the arc length.
func quadrature(s geometry.Segment, n int) float64 {
	h := 1 / float64(2*n)
	sum := s.Deriv(0).Len() + s.Deriv(1).Len()
	for i := 1; i < 2*n; i++ {
		f := 4.0
		if i%2 == 0 {
			f = 2
		}
		sum += f * s.Deriv(float64(i)*h).Len()
	}
	return sum * h / 3
}

// The answers were computed independently with 25 digits.
func TestLengthOfKnownCurves(t *testing.T) {
	const k, k2 = 0.552284749831, 0.551915024494 // circle by equal tangent at 45 degrees, by least radial error
	for _, c := range []struct {
		name string
		s    geometry.Segment
		want float64
	}{
		{"speed 300(1+t^2)", cubic(pt(0, 0), pt(100, 0), pt(200, 100), pt(200, 300)), 400},
		{"armhole-like", cubic(pt(0, 0), pt(0, 60), pt(40, 100), pt(120, 100)), 177.14852515796},
		{"quarter circle", cubic(pt(1, 0), pt(1, k), pt(k, 1), pt(0, 1)), 1.5710166980739},
		{"quarter circle, other constant", cubic(pt(1, 0), pt(1, k2), pt(k2, 1), pt(0, 1)), 1.5708561799},
		// y = x^2/200 raised from its quadratic control points (0,0) (50,0) (100,50).
		{"parabola", cubic(pt(0, 0), pt(100.0/3, 0), pt(200.0/3, 50.0/3), pt(100, 50)), 114.77935746963},
		{"line", geometry.Segment{A: pt(0, 0), B: pt(0, 0), C: pt(3, 4), D: pt(3, 4)}, 5},
		{"point", cubic(pt(1, 1), pt(1, 1), pt(1, 1), pt(1, 1)), 0},
		// There and back again on a line: the turn is at t = 1/2, 75 from either end.
		{"fold", cubic(pt(0, 0), pt(100, 0), pt(100, 0), pt(0, 0)), 150},
	} {
		if got := c.s.Length(); math.Abs(got-c.want) > 1e-6 {
			t.Errorf("%s: %.10f, want %.10f", c.name, got, c.want)
		}
	}
	// 1/2 integral (x dy - y dx) of the first curve, closed by the straight way
	// through the origin, which adds nothing.
	s := cubic(pt(0, 0), pt(100, 0), pt(200, 100), pt(200, 300))
	b, d := s.B, s.C
	p := geometry.Path{{At: s.A, Out: &b, Corner: true}, {At: s.D, In: &d, Corner: true}}
	if got := p.Area(); math.Abs(got-18000) > 1e-6 {
		t.Errorf("area %.9f, want 18000", got)
	}
	a, e := s.Split(0.596072) // half length, from s(t) = 300 t + 100 t^3
	if math.Abs(a.Length()-200) > 1e-3 || math.Abs(a.Length()+e.Length()-400) > 1e-6 {
		t.Errorf("halves %.6f and %.6f, want 200 each", a.Length(), e.Length())
	}
	first, _ := s.Split(0.5)
	if math.Abs(first.Length()-162.5) > 1e-6 {
		t.Errorf("s(0.5) = %.9f, want 162.5", first.Length())
	}
}

// Absurd input must come to an end.
func TestLengthOfAbsurdCurves(t *testing.T) {
	for _, x := range []float64{1e12, 1e300, math.Inf(1), math.NaN()} {
		s := cubic(pt(0, 0), pt(x, 0), pt(-x, x), pt(x/3, -x))
		if l := s.Length(); l < 0 {
			t.Errorf("length %v for size %v", l, x)
		}
	}
}

func circle(k float64) geometry.Path {
	at := []geometry.Point{pt(1, 0), pt(0, 1), pt(-1, 0), pt(0, -1)}
	var p geometry.Path
	for _, q := range at {
		tan := q.Sub(geometry.Point{}).Perp().Scale(k)
		in, out := q.Add(tan.Scale(-1)), q.Add(tan)
		p = append(p, geometry.Knot{At: q, In: &in, Out: &out})
	}
	return p
}

func TestCircleOfFourCubics(t *testing.T) {
	p := circle(0.552284749831)
	if got := p.Area(); math.Abs(got-3.1424723326565) > 1e-9 {
		t.Errorf("area %.12f", got)
	}
	if len(p.Corners()) != 0 {
		t.Error("a circle has no corners")
	}
	// Radial errors: 0 to +2.7253e-4, and +-1.9608e-4 for the other constant.
	lo, hi := radii(p)
	if math.Abs(lo) > 1e-9 || math.Abs(hi-2.7253e-4) > 2e-7 {
		t.Errorf("radial error %g to %g", lo, hi)
	}
	lo, hi = radii(circle(0.551915024494))
	if math.Abs(lo+1.9608e-4) > 2e-7 || math.Abs(hi-1.9608e-4) > 2e-7 {
		t.Errorf("radial error %g to %g", lo, hi)
	}
	// A quarter of an ellipse with half axes 300 and 100: 334.12233051388 exactly;
	// its cubics are too long by about 1.4e-4 of it.
	e := p.Map(func(q geometry.Point) geometry.Point { return pt(300*q.X, 100*q.Y) })
	if got := e.Length() / 4; math.Abs(got-334.12233051388) > 3e-4*334 {
		t.Errorf("quarter ellipse %.6f", got)
	}
}

func radii(p geometry.Path) (lo, hi float64) {
	for _, s := range p.Segments() {
		for i := range 1001 {
			q := s.At(float64(i) / 1000)
			r := math.Hypot(q.X, q.Y) - 1
			lo, hi = math.Min(lo, r), math.Max(hi, r)
		}
	}
	return
}

// The fewest chords that keep a tolerance of 0.1 mm on circles; the bound by the
// second difference may spend some more, never fewer.
func TestFlattenKeepsTolerance(t *testing.T) {
	for _, c := range []struct {
		radius float64
		fewest int
	}{{30, 39}, {75, 61}, {150, 87}, {500, 158}} {
		p := circle(0.551915024494).Map(func(q geometry.Point) geometry.Point { return pt(c.radius*q.X, c.radius*q.Y) })
		ring := p.Flatten(0.1)
		// The cubics themselves are off by 2e-4 of the radius, which may save a chord.
		if n := len(ring); n < c.fewest-4 || n > c.fewest*3/2 {
			t.Errorf("radius %v: %d chords, fewest possible %d", c.radius, n, c.fewest)
		}
	}
	rnd := rand.New(rand.NewPCG(1, 1))
	for range 300 {
		s := randomCubic(rnd)
		b, cc := s.B, s.C
		p := geometry.Path{{At: s.A, Out: &b, Corner: true}, {At: s.D, In: &cc, Corner: true}}
		tol := math.Pow(10, -2*rnd.Float64())
		ring := p.Flatten(tol)
		for i := range 200 {
			if d := toRing(s.At(float64(i)/199), ring); d > tol*1.0001 {
				t.Fatalf("tolerance %v: off by %v on %v", tol, d, s)
			}
		}
	}
}

func toRing(q geometry.Point, ring geometry.Polyline) float64 {
	best := math.Inf(1)
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		v := b.Sub(a)
		u := 0.0
		if l := v.Dot(v); l > 0 {
			u = math.Max(0, math.Min(1, q.Sub(a).Dot(v)/l))
		}
		best = math.Min(best, q.Dist(a.Lerp(b, u)))
	}
	return best
}

// randomCubic draws sizes over five decades and, often, near-degenerate ones.
func randomCubic(rnd *rand.Rand) geometry.Segment {
	size := math.Pow(10, 4*rnd.Float64()-1)
	p := func() geometry.Point { return pt(size*rnd.NormFloat64(), size*rnd.NormFloat64()) }
	s := cubic(p(), p(), p(), p())
	switch rnd.IntN(5) {
	case 0:
		s.B = s.A
	case 1:
		s.B, s.C = s.A.Lerp(s.D, rnd.Float64()), s.A.Lerp(s.D, rnd.Float64())
	case 2:
		s.D = s.A
	}
	return s
}

func TestSegmentProperties(t *testing.T) {
	rnd := rand.New(rand.NewPCG(2, 2))
	for range 400 {
		s := randomCubic(rnd)
		size := 1 + s.A.Dist(s.B) + s.B.Dist(s.C) + s.C.Dist(s.D)
		u := rnd.Float64()
		// Derivative against a central difference.
		const h = 1e-5
		d := s.At(u + h).Sub(s.At(u - h)).Scale(1 / (2 * h))
		if d.Add(s.Deriv(u).Scale(-1)).Len() > 1e-5*size {
			t.Fatalf("derivative of %v at %v", s, u)
		}
		// The parts of a split lie on the curve.
		l, r := s.Split(u)
		if l.At(0.3).Dist(s.At(0.3*u)) > 1e-9*size || r.At(0.3).Dist(s.At(u+0.3*(1-u))) > 1e-9*size {
			t.Fatalf("split of %v at %v", s, u)
		}
		if got := l.Length() + r.Length(); math.Abs(got-s.Length()) > 3e-6+1e-9*size {
			t.Fatalf("lengths of the parts of %v at %v: %v, whole %v", s, u, got, s.Length())
		}
		// Smooth curves of garment size: right to 1e-6 against quadrature.
		if q, q2 := quadrature(s, 2000), quadrature(s, 1000); math.Abs(q-q2) < 1e-8 && math.Abs(s.Length()-q) > 1e-6 {
			t.Fatalf("length of %v: %.9f, quadrature %.9f", s, s.Length(), q)
		}
	}
}

func TestPathAreaAgainstPolygon(t *testing.T) {
	p := circle(0.55).Map(func(q geometry.Point) geometry.Point { return pt(200*q.X+300, 120*q.Y-50) })
	if got, want := p.Flatten(1e-4).Area(), p.Area(); math.Abs(got-want) > 1 {
		t.Errorf("polygon %v, path %v", got, want)
	}
	if p.Area() <= 0 {
		t.Error("counter-clockwise paths have positive area")
	}
	// A rigid map keeps length and area.
	m := geometry.Rigid{Turn: 1.1, Move: pt(-40, 900)}
	q := p.Map(m.Apply)
	if math.Abs(q.Length()-p.Length()) > 1e-5 || math.Abs(q.Area()-p.Area()) > 1e-6 {
		t.Error("a rigid map must keep length and area")
	}
	if p[0].At != pt(500, -50) {
		t.Error("Map must not change its path")
	}
}

func TestPathJSON(t *testing.T) {
	in := pt(1, 2)
	p := geometry.Path{{At: pt(0, 0), Corner: true}, {At: pt(10.00004, -0.00001), In: &in}}
	b, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	const want = `[{"at":[0,0],"corner":true},{"at":[10,0],"in":[1,2],"corner":false}]`
	if string(b) != want {
		t.Errorf("%s, want %s", b, want)
	}
	if _, err := json.Marshal(pt(math.NaN(), 0)); err == nil {
		t.Error("NaN must not be written")
	}
}

func FuzzPathJSON(f *testing.F) {
	for _, s := range []string{
		`[{"at":[0,0],"corner":true},{"at":[10,0],"in":[1,2],"out":[3,4],"corner":false}]`,
		`[]`, `null`, `[{"at":[1]}]`, `[{"at":[1,2,3]}]`, `[{"at":[1e999,0]}]`, `[{"at":null}]`, `[{"at":["1",2]}]`,
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		var p geometry.Path
		if json.Unmarshal(b, &p) != nil {
			return
		}
		for _, k := range p {
			if !k.At.IsFinite() || k.In != nil && !k.In.IsFinite() || k.Out != nil && !k.Out.IsFinite() {
				t.Fatalf("read a number that is not finite from %q", b)
			}
		}
		out, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		var q geometry.Path
		if err := json.Unmarshal(out, &q); err != nil || len(q) != len(p) {
			t.Fatalf("%s does not come back: %v", out, err)
		}
		again, _ := json.Marshal(q)
		if string(again) != string(out) {
			t.Fatalf("written differently the second time: %s, %s", out, again)
		}
	})
}
