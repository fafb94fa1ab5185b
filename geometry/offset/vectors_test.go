package offset_test

import (
	"errors"
	"math"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/offset"
)

// Expected values were computed independently with 25 digits; the rules are
// Steiner's: length + 2 pi d, area + length d + pi d^2 with round corners.
func TestKnownShapes(t *testing.T) {
	rectangle := corners(0, 0, 200, 0, 200, 300, 0, 300)
	triangle := corners(0, 0, 400, 0, 0, 300)
	ellipse := closed(arcs(pt(0, 0), 300, 100, 0, 2*math.Pi, 32)...)
	for _, c := range []struct {
		name         string
		path         geometry.Path
		d            float64
		join         offset.Join
		length, area float64
	}{
		{"rectangle, round", rectangle, 15, offset.Round, 1094.24778, 75706.85835},
		{"rectangle, meeting", rectangle, 15, offset.Meet, 1120, 75900},
		{"triangle, round", triangle, 10, offset.Round, 1262.83185, 72314.15927},
		{"triangle, meeting", triangle, 10, offset.Meet, 1320, 72600},
		{"ellipse", ellipse, 15, offset.Meet, 1430.73710, 115001.97779},
	} {
		r := cutLine(t, c.path, each(c.path, c.d, c.join))
		near(t, c.name+" length", r.Path.Length(), c.length, 2e-5*c.length)
		near(t, c.name+" area", r.Path.Area(), c.area, 2e-5*c.area)
		if len(r.EdgeOf) != len(r.Path) {
			t.Errorf("%s: %d edges for %d segments", c.name, len(r.EdgeOf), len(r.Path))
		}
	}
	r := cutLine(t, rectangle, each(rectangle, 15, offset.Meet))
	if len(r.Path) != 4 {
		t.Errorf("the cut line of a rectangle has %d knots, want 4", len(r.Path))
	}
}

// A quarter of a circle of 75 mm, concave like a neck: the cut edge is shorter
// than the seam; convex: longer. Same source.
func TestQuarterCircle(t *testing.T) {
	quarter := arcs(pt(0, 0), 75, 75, 0, math.Pi/2, 4)
	length := func(segs []geometry.Segment) (l float64) {
		for _, s := range segs {
			l += s.Length()
		}
		return
	}
	near(t, "seam", length(quarter), 117.80972, 1e-4)
	for _, c := range []struct{ d, want float64 }{{-6, 108.38495}, {-10, 102.10176}, {-15, 94.24778}, {15, 141.37167}} {
		got, err := offset.Parallel(quarter, c.d, c.d, offset.Options{})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "cut edge", length(got), c.want, 2e-3)
	}
}

// The flap of a hem is as wide at its cut edge as the garment at the same height
// above the fold. Widths computed independently from the mirror image
// P' = P - 2((P-A).n)n; the folding itself is common practice: fold the paper and
// cut through both layers.
func TestHemEnds(t *testing.T) {
	for _, c := range []struct{ width, tilt, depth, want float64 }{
		{180, 5, 40, 186.9991},
		{180, 5, 25, 184.3744},
		{250, 8, 50, 264.0541},
		{600, -10, 30, 589.4204},
		{600, -10, 50, 582.3673},
		{180, 5, 80, 193.9982}, // deeper ones, after the same rule
		{250, 8, 150, 292.1623},
		{600, -10, 150, 547.1019},
	} {
		s := 400 * math.Tan(c.tilt*math.Pi/180)
		p := corners(0, 0, c.width, 0, c.width+s, 400, -s, 400)
		r := cutLine(t, p, []offset.Edge{{Name: "hem", Knot: 0, Folds: []float64{c.depth}}, {Knot: 1}, {Knot: 2}, {Knot: 3}})
		lo, hi := extentAt(r.Path, -c.depth)
		near(t, "cut edge", hi-lo, c.want, 1e-4)
		near(t, "cut edge as a line", length(r.Folds[0].Lines[1].Line), c.want, 1e-4)
		near(t, "fold", length(r.Folds[0].Lines[0].Line), c.width, 1e-9)
		if x := r.Folds[0].Lines[1].ExcessMM; x != 0 {
			t.Errorf("excess %g mm about a straight fold", x)
		}
	}
}

// extentAt returns the range of x of the knots at height y.
func extentAt(p geometry.Path, y float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, k := range p {
		if math.Abs(k.At.Y-y) < 1e-6 {
			lo, hi = math.Min(lo, k.At.X), math.Max(hi, k.At.X)
		}
	}
	return
}

func length(segs []geometry.Segment) (l float64) {
	for _, s := range segs {
		l += s.Length()
	}
	return
}

// The end of a hem mirrors the cut line of the side, its allowance included, and
// the part turned under mirrors that again.
func TestHemOnAllowance(t *testing.T) {
	const a, allowance, depth, under = 7 * math.Pi / 180, 15.0, 40.0, 12.0
	s := 400 * math.Tan(a)
	p := corners(0, 0, 300, 0, 300-s, 400, s, 400)
	r := cutLine(t, p, []offset.Edge{
		{Name: "hem", Knot: 0, Folds: []float64{depth, under}},
		{Knot: 1, StartMM: allowance, EndMM: allowance},
		{Knot: 2, StartMM: 10, EndMM: 10},
		{Knot: 3, StartMM: allowance, EndMM: allowance},
	})
	// Width of the garment with its allowances at height y.
	width := func(y float64) float64 { return 300 - 2*y*math.Tan(a) + 2*allowance/math.Cos(a) }
	for _, c := range []struct{ out, on float64 }{{0, 0}, {depth, depth}, {depth + under, depth - under}} {
		lo, hi := extentAt(r.Path, -c.out)
		near(t, "width", hi-lo, width(c.on), 1e-6)
	}
	f := r.Folds[0]
	if len(f.Lines) != 3 || f.Lines[2].OutMM != 52 || f.Lines[2].OnMM != 28 {
		t.Fatalf("fold lines %+v", f.Lines)
	}
	near(t, "second fold", length(f.Lines[1].Line), width(depth), 1e-6)
}

// The hem of a full circle: the cut edge 2 pi (R+h) must lie on 2 pi (R-h), so
// that 4 pi h are too much, whatever R.
func TestCircleHem(t *testing.T) {
	for _, c := range []struct{ h, want float64 }{{6, 75.398}, {13, 163.363}, {25, 314.159}, {50, 628.319}} {
		for _, radius := range []float64{200, 600} {
			p := closed(arcs(pt(0, 0), radius, radius, 0, 2*math.Pi, 16)...)
			r := cutLine(t, p, []offset.Edge{{Folds: []float64{c.h}}})
			near(t, "excess", r.Folds[0].Lines[1].ExcessMM, c.want, 0.01)
			if len(r.Findings) == 0 || r.Findings[0].Code != offset.CodeFoldLength {
				t.Errorf("findings %v do not say so", r.Findings)
			}
		}
	}
}

// About a curved fold the flap mirrors along the fold's normals: here the fold is
// an arc of 400 mm round the waist of a gored skirt, and the mirror image of
// radius r is 800 - r. The side leans inwards; its allowance is 0 or 12 mm.
func TestCurvedHem(t *testing.T) {
	for _, allowance := range []float64{0, 12} {
		const radius, depth = 400.0, 60.0
		hem := arcs(pt(0, 0), radius, radius, -math.Pi/2-0.4, -math.Pi/2+0.4, 3)
		a, d := hem[0].A, hem[2].D
		p := closed(append(hem, straight(d.X, d.Y, 40, -100), straight(40, -100, -40, -100), straight(-40, -100, a.X, a.Y))...)
		side := func(e int) offset.Edge { return offset.Edge{Knot: e, StartMM: allowance, EndMM: allowance} }
		r := cutLine(t, p, []offset.Edge{{Name: "hem", Knot: 0, Folds: []float64{depth}}, side(3), side(4), side(5)})

		normal := geometry.Vec{X: d.Y + 100, Y: -(d.X - 40)}.Unit() // of the right side
		if normal.X < 0 {
			normal = normal.Scale(-1)
		}
		beyond := 0.0 // of points on the flap's end, from the end of the arc on
		for i, e := range r.EdgeOf {
			s := r.Path.Segment(i)
			if e != 0 || s.A.X < 0 || s.A.Dist(s.D) > 100 {
				continue
			}
			for k := range 9 {
				q := s.At(float64(k) / 8)
				rad := math.Hypot(q.X, q.Y)
				if rad > radius+depth-0.02 || rad < radius+1 || math.Atan2(q.Y, q.X) > -math.Pi/2+0.4 {
					continue
				}
				m := pt(q.X/rad*(2*radius-rad), q.Y/rad*(2*radius-rad))
				near(t, "mirrored end of the flap, from the side's cut line", m.Sub(d).Dot(normal), allowance, 0.01)
				beyond++
			}
		}
		if beyond == 0 && allowance == 0 {
			t.Error("no point of the flap's end was seen")
		}
		// The flap's cut edge, on radius 460, lies on radius 340 between the cut
		// lines of both sides.
		foot := normal.Scale(d.Sub(pt(0, 0)).Dot(normal) + allowance) // nearest to the centre
		along := math.Sqrt((radius-depth)*(radius-depth) - foot.Dot(foot))
		end := foot.Add(normal.Perp().Scale(-along))
		if end.Y > 0 {
			end = foot.Add(normal.Perp().Scale(along))
		}
		turn := 2 * math.Min(math.Atan2(end.X, -end.Y), 0.4) // beyond its end the fold runs on straight
		near(t, "excess", r.Folds[0].Lines[1].ExcessMM, 2*depth*turn, 0.01)
	}
}

// A width that changes from end to end changes linearly with arc length: beside a
// circle of radius R by d0 to d1 over an angle w the area between is the integral
// of R d + d^2/2 over the angle (worked out by hand).
func TestLinearWidth(t *testing.T) {
	const radius, w, d0, d1 = 120.0, 1.5, 6.0, 22.0
	arc := arcs(pt(0, 0), radius, radius, 0, w, 5)
	out, err := offset.Parallel(arc, d0, d1, offset.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range out {
		for k := range 5 {
			q := s.At(float64(k) / 4)
			near(t, "width", math.Hypot(q.X, q.Y)-radius, d0+(d1-d0)*math.Atan2(q.Y, q.X)/w, 0.01)
		}
	}
	a, b := out[0].A, out[len(out)-1].D
	ring := append(append([]geometry.Segment{}, out...), straight(b.X, b.Y, arc[4].D.X, arc[4].D.Y))
	for i := len(arc) - 1; i >= 0; i-- {
		s := arc[i]
		ring = append(ring, geometry.Segment{A: s.D, B: s.C, C: s.B, D: s.A, Curved: true})
	}
	ring = append(ring, straight(radius, 0, a.X, a.Y))
	want := radius*w*(d0+d1)/2 + w*(d0*d0+d0*d1+d1*d1)/6
	near(t, "area", closed(ring...).Area(), want, 1e-4*want)
}

// Edges that join smoothly with different widths: a straight step, square to the
// edge (common practice, no source).
func TestStep(t *testing.T) {
	p := corners(0, 0, 100, 0, 200, 0, 200, 100, 0, 100)
	r := cutLine(t, p, []offset.Edge{{Knot: 0, StartMM: 10, EndMM: 10}, {Knot: 1, StartMM: 25, EndMM: 25}, {Knot: 2, StartMM: 10, EndMM: 10}})
	step := 0
	for i := range r.Path {
		s := r.Path.Segment(i)
		if math.Abs(s.A.X-100) < 1e-9 && math.Abs(s.D.X-100) < 1e-9 && math.Abs(s.A.Y+10) < 1e-9 && math.Abs(s.D.Y+25) < 1e-9 {
			step++
		}
	}
	if step != 1 {
		t.Errorf("%d steps at x = 100 in %s", step, show(r.Path))
	}
	near(t, "area", r.Path.Area(), 220*120+110*15, 1e-6)
}

// Two folded edges at a right angle: each flap's end mirrors the other's cut line,
// which leaves a full corner. A pocket with four of them is a larger rectangle.
func TestFoldedCorner(t *testing.T) {
	p := corners(0, 0, 120, 0, 120, 150, 0, 150)
	var edges []offset.Edge
	for i := range p {
		edges = append(edges, offset.Edge{Knot: i, Folds: []float64{12, 5}})
	}
	r := cutLine(t, p, edges)
	near(t, "area", r.Path.Area(), (120+34)*(150+34), 1e-6)
	if len(r.Findings) != 0 {
		t.Errorf("findings %v", r.Findings)
	}
	edges[0].Folds, edges[2].Folds = nil, nil
	slanted := corners(0, 0, 120, 0, 150, 150, 0, 150)
	edges[0].Folds = []float64{12}
	r = cutLine(t, slanted, edges)
	if len(r.Findings) != 1 || r.Findings[0].Code != offset.CodeFoldEnd {
		t.Errorf("findings %v, want one about the slanted corner", r.Findings)
	}
}

// The cut line of a hole runs inside it.
func TestHole(t *testing.T) {
	hole := corners(0, 0, 0, 100, 60, 100, 60, 0)
	r := cutLine(t, hole, each(hole, 10, offset.Meet))
	near(t, "area", r.Path.Area(), -40*80, 1e-9)
	var w *offset.TooWideError
	if _, err := offset.CutLine(hole, each(hole, 31, offset.Meet), offset.Options{}); !errors.As(err, &w) || w.LargestMM > 29 || w.LargestMM < 28.8 {
		t.Errorf("error %v, want one that names 60 - 31 mm, less 0.1", err)
	}
}

// A spike is cut off square at the limit: 30 degrees between two edges of 10 mm,
// limit 2.
func TestMiterLimit(t *testing.T) {
	a := 30 * math.Pi / 180
	p := corners(0, 0, 300, 0, 300*math.Cos(a), 300*math.Sin(a))
	r, err := offset.CutLine(p, each(p, 10, offset.Meet), offset.Options{MiterLimit: 2})
	if err != nil {
		t.Fatal(err)
	}
	far := 0.0
	for _, k := range r.Path {
		u := geometry.Vec{X: -math.Cos(a / 2), Y: -math.Sin(a / 2)} // out of the corner at 0, 0
		far = math.Max(far, k.At.Sub(pt(0, 0)).Dot(u))
	}
	near(t, "reach of the cut-off corner", far, 20, 1e-9)
}
