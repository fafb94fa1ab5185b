package offset_test

import (
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
		{Name: "hem", Knot: 0, Folds: []float64{depth, under}}, {Knot: 1, StartMM: allowance, EndMM: allowance},
		{Knot: 2, StartMM: 10, EndMM: 10}, {Knot: 3, StartMM: allowance, EndMM: allowance},
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
