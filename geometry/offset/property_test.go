package offset_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/peterstace/simplefeatures/geom"

	"secondcut/geometry"
	"secondcut/geometry/offset"
)

// reference returns a path as a polygon of a geometry library of its own kind.
// Building it fails when the ring crosses itself.
func reference(t testing.TB, p geometry.Path, tol float64) geom.Polygon {
	t.Helper()
	var xy []float64
	ring := p.Flatten(tol)
	for _, q := range append(ring, ring[0]) {
		xy = append(xy, q.X, q.Y)
	}
	poly := geom.NewPolygon([]geom.LineString{geom.NewLineString(geom.NewSequence(xy, geom.DimXY))})
	if err := poly.Validate(); err != nil {
		t.Errorf("cut line is no simple ring: %v", err)
	}
	return poly
}

// Steiner's formulas on convex and mildly curved shapes with round joins, length
// and area measured by the reference library.
func TestSteiner(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 60 {
		var p geometry.Path
		if r.IntN(2) == 0 {
			p = blob(r, 6+r.IntN(20), 12)
		} else {
			p = convex(r, 3+r.IntN(9))
		}
		d := 1 + 29*r.Float64()
		got := reference(t, cutLine(t, p, each(p, d, offset.Round)).Path, 1e-4)
		l, a := p.Length(), p.Area()
		near(t, "length", got.ExteriorRing().Length()/(l+2*math.Pi*d), 1, 1e-4)
		near(t, "area", got.Area()/(a+l*d+math.Pi*d*d), 1, 1e-4)
	}
}

// convex returns a convex polygon with corners on a circle.
func convex(r *rand.Rand, n int) geometry.Path {
	var xy []float64
	a := 0.0
	for range n {
		a += 0.2 + r.Float64()
		xy = append(xy, a)
	}
	out := make([]float64, 0, 2*n)
	for _, b := range xy {
		b *= 2 * math.Pi / (a + 0.3)
		out = append(out, 200*math.Cos(b), 180*math.Sin(b))
	}
	return corners(out...)
}

// random returns a shape with corners and curves, concave parts included, with an
// edge from corner to corner.
func random(r *rand.Rand) (geometry.Path, []int) {
	n := 4 + r.IntN(8)
	pts := make([]geometry.Point, n)
	for i := range pts {
		s, c := math.Sincos(2 * math.Pi * (float64(i) + 0.5*r.Float64()) / float64(n))
		rad := 40 + 310*r.Float64()
		pts[i] = pt(rad*c, rad*s)
	}
	var segs []geometry.Segment
	var knots []int
	for i, p := range pts {
		q := pts[(i+1)%n]
		knots = append(knots, len(segs))
		if r.IntN(3) == 0 {
			segs = append(segs, straight(p.X, p.Y, q.X, q.Y))
			continue
		}
		v := q.Sub(p)
		bow := v.Perp().Scale(0.5 * (r.Float64() - 0.5))
		s := geometry.Segment{A: p, B: p.Lerp(q, 0.3).Add(bow), C: p.Lerp(q, 0.7).Add(bow.Scale(2 * (r.Float64() - 0.4))), D: q, Curved: true}
		if r.IntN(2) == 0 {
			a, b := s.Split(0.3 + 0.4*r.Float64())
			segs = append(segs, a, b)
		} else {
			segs = append(segs, s)
		}
	}
	p := closed(segs...)
	return p, knots
}

// On random concave shapes, with all kinds of widths and corners: the cut line
// encloses the stitch line, is nowhere nearer to an edge on its own part than the
// edge's own width less 0.01 mm, and does not cross itself.
func TestConcave(t *testing.T) { concave(t, 400, 250, 3, 1, 0, 6, 10, 15, 25, 40) }

// The same with one edge or another as deep as the hem of a coat.
func TestConcaveDeep(t *testing.T) { concave(t, 300, 250, 11, 2, 0, 12, 80, 150) }

// Where edges bend far more tightly than they are wide, the cut line may come too
// near, but never without a finding that says so: with deep hems, and with ordinary
// widths on small pieces.
func TestNarrowingIsSaid(t *testing.T) {
	narrowingIsSaid(t, 13, 1, 0, 12, 80, 150)
	narrowingIsSaid(t, 21, 0.25, 0, 6, 10, 15, 20, 25, 38)
	narrowingIsSaid(t, 22, 0.5, 0, 10, 25, 38, 80)
}

func narrowingIsSaid(t *testing.T, seed uint64, scale float64, widths ...float64) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, seed+1))
	short, said := 0, 0
	for range 400 {
		p, knots := random(r)
		p = p.Map(func(q geometry.Point) geometry.Point { return pt(scale*q.X, scale*q.Y) })
		var edges []offset.Edge
		for _, k := range knots {
			d := widths[r.IntN(len(widths))]
			edges = append(edges, offset.Edge{Knot: k, StartMM: d, EndMM: d})
		}
		res, err := offset.CutLine(p, edges, offset.Options{})
		if err != nil {
			continue
		}
		found := map[float64]bool{}
		for _, f := range res.Findings {
			if f.Code == offset.CodeNarrow {
				found[f.Limit] = true
				said++
			}
		}
		for i := range edges {
			if missing := missingWidth(res, p, edges, i); missing > 0.1 {
				short++
				if !found[edges[i].StartMM] {
					t.Fatalf("%.2f of %g mm are missing, and nothing is said", missing, edges[i].StartMM)
				}
			}
		}
	}
	if short == 0 || said > 2*short {
		t.Errorf("%d edges are too narrow, %d findings", short, said)
	}
	t.Logf("%d edges are too narrow, %d findings", short, said)
}

func concave(t *testing.T, tries, least int, seed uint64, scale float64, widths ...float64) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, seed+1))
	done, wide := 0, 0
	for range tries {
		p, knots := random(r)
		p = p.Map(func(q geometry.Point) geometry.Point { return pt(scale*q.X, scale*q.Y) })
		var edges []offset.Edge
		for _, k := range knots {
			d := widths[r.IntN(len(widths))]
			edges = append(edges, offset.Edge{Knot: k, StartMM: d, EndMM: d, Corner: offset.Join(r.IntN(2))})
		}
		res, err := offset.CutLine(p, edges, offset.Options{})
		var w *offset.TooWideError
		if errors.As(err, &w) {
			wide++
			continue
		}
		if errors.Is(err, offset.ErrOutline) {
			continue // the random outline crosses itself
		}
		if err != nil {
			t.Fatal(err)
		}
		done++
		reference(t, res.Path, 0.005)
		encloses(t, res.Path, p)
		keepsWidth(t, res, p, edges)
		if t.Failed() {
			t.Fatalf("path %+v\nedges %+v", p, edges)
		}
	}
	if done < least {
		t.Errorf("only %d of %d drawn, %d too wide", done, tries, wide)
	}
	t.Logf("%d of %d drawn, %d too wide", done, tries, wide)
}

func encloses(t *testing.T, cut, stitch geometry.Path) {
	t.Helper()
	ring := cut.Flatten(0.002)
	for _, q := range stitch.Flatten(0.5) {
		if !ring.Contains(q) && distance(ring, q) > 0.01 {
			t.Errorf("stitch line at %.2f lies %.3f mm outside the cut line", q, distance(ring, q))
		}
	}
}

// distance returns the distance of q from a ring.
func distance(ring geometry.Polyline, q geometry.Point) float64 {
	d := math.Inf(1)
	for i, a := range ring {
		d = math.Min(d, toLine(a, ring[(i+1)%len(ring)], q))
	}
	return d
}

func toLine(a, b, q geometry.Point) float64 {
	v := b.Sub(a)
	u := 0.0
	if l := v.Dot(v); l > 0 {
		u = math.Min(math.Max(q.Sub(a).Dot(v)/l, 0), 1)
	}
	return q.Dist(a.Lerp(b, u))
}

// keepsWidth checks each edge's part of the cut line against its constant width.
func keepsWidth(t *testing.T, res offset.Result, p geometry.Path, edges []offset.Edge) {
	t.Helper()
	for i, e := range edges {
		if missing := missingWidth(res, p, edges, i); missing > 0.01 {
			t.Errorf("edge %d of %g mm: the cut line comes as near as %.3f mm", i, e.StartMM, e.StartMM-missing)
		}
	}
}

// missingWidth returns how much nearer than its constant width the cut line comes to
// edge i on the edge's own part.
func missingWidth(res offset.Result, p geometry.Path, edges []offset.Edge, i int) float64 {
	var stitch []geometry.Segment
	for k := edges[i].Knot; ; k = (k + 1) % len(p) {
		stitch = append(stitch, p.Segment(k))
		if (k+1)%len(p) == edges[(i+1)%len(edges)].Knot {
			break
		}
	}
	missing := 0.0
	for k, of := range res.EdgeOf {
		if of != i {
			continue
		}
		for m := range 9 {
			q := res.Path.Segment(k).At(float64(m) / 8)
			d := math.Inf(1)
			for _, s := range stitch {
				d = math.Min(d, toSegment(s, q))
			}
			missing = math.Max(missing, edges[i].StartMM-d)
		}
	}
	return missing
}

// toSegment returns the distance of q from a segment: the best of 32 samples,
// improved by thirds.
func toSegment(s geometry.Segment, q geometry.Point) float64 {
	const n = 32
	best, d := 0, math.Inf(1)
	for i := range n + 1 {
		if e := q.Dist(s.At(float64(i) / n)); e < d {
			best, d = i, e
		}
	}
	lo, hi := math.Max(float64(best-1), 0)/n, math.Min(float64(best+1), n)/n
	for range 30 {
		a, b := (2*lo+hi)/3, (lo+2*hi)/3
		if q.Dist(s.At(a)) < q.Dist(s.At(b)) {
			hi = b
		} else {
			lo = a
		}
	}
	return q.Dist(s.At(lo))
}

// Out and in again by the same width comes back to the outline where its radii
// exceed the width. In is out for the outline run the other way, as a hole.
func TestOutAndIn(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 20 {
		p := blob(r, 12, 12)
		d := 2 + 18*r.Float64()
		out := cutLine(t, p, []offset.Edge{{StartMM: d, EndMM: d}}).Path
		back := reversed(cutLine(t, reversed(out), []offset.Edge{{StartMM: d, EndMM: d}}).Path)
		ring := p.Flatten(1e-4)
		for _, q := range back.Flatten(0.1) {
			if e := distance(ring, q); e > 0.02 { // 0.01 each way
				t.Fatalf("out and in by %.2f mm is off by %.4f mm", d, e)
			}
		}
	}
}

func reversed(p geometry.Path) geometry.Path {
	out := make(geometry.Path, len(p))
	for i, k := range p {
		k.In, k.Out = k.Out, k.In
		out[len(p)-1-i] = k
	}
	return out
}

// The distance of the drawn curve from the true parallel curve, measured at
// points between those it was fitted to, stays within the tolerance asked for.
func TestTolerance(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	worst := 0.0
	for range 100 {
		c := func() geometry.Point { return pt(200*r.Float64(), 200*r.Float64()) }
		s := geometry.Segment{A: c(), B: c(), C: c(), D: c(), Curved: true}
		d0, d1 := 30*r.Float64(), 30*r.Float64()
		if r.IntN(2) == 0 {
			d1 = d0
		}
		tol := []float64{0.002, 0.01, 0.1}[r.IntN(3)]
		got, err := offset.Parallel([]geometry.Segment{s}, d0, d1, offset.Options{TolMM: tol})
		var w *offset.TooWideError
		if errors.As(err, &w) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		truth := newTruth(s, d0, d1)
		for _, g := range got {
			for k := 1; k < 12; k++ {
				if e := truth.distance(g.At(float64(k)/12)) / tol; e > worst {
					worst = e
					if e > 1 {
						t.Logf("%.2f times %g mm: %+v from %g to %g", e, tol, s, d0, d1)
					}
				}
			}
		}
	}
	if worst > 1 {
		t.Errorf("worst error is %.2f times the tolerance", worst)
	}
}

// truth is the parallel curve of a cubic by its definition.
type truth struct {
	s     geometry.Segment
	d0, m float64
	arc   []float64
}

const truthSteps = 2000

func newTruth(s geometry.Segment, d0, d1 float64) truth {
	c := truth{s: s, d0: d0, m: (d1 - d0) / s.Length(), arc: make([]float64, truthSteps+1)}
	for i := range truthSteps {
		a, b := float64(i)/truthSteps, float64(i+1)/truthSteps
		v := s.Deriv(a).Len() + 4*s.Deriv((a+b)/2).Len() + s.Deriv(b).Len()
		c.arc[i+1] = c.arc[i] + v*(b-a)/6 // Simpson
	}
	return c
}

func (c truth) at(t float64) geometry.Point {
	i := min(int(t*truthSteps), truthSteps-1)
	l := c.arc[i] + (c.arc[i+1]-c.arc[i])*(t*truthSteps-float64(i))
	v := c.s.Deriv(t).Unit()
	return c.s.At(t).Add(geometry.Vec{X: v.Y, Y: -v.X}.Scale(c.d0 + c.m*l))
}

// distance searches among close points, then round each that is a local best by
// thirds.
func (c truth) distance(q geometry.Point) float64 {
	d := make([]float64, truthSteps+1)
	least := math.Inf(1)
	for i := range d {
		d[i] = q.Dist(c.at(float64(i) / truthSteps))
		least = math.Min(least, d[i])
	}
	for i := range d {
		if i > 0 && d[i] > d[i-1] || i < truthSteps && d[i] > d[i+1] || d[i] > least+1 {
			continue
		}
		lo, hi := math.Max(float64(i-1), 0)/truthSteps, math.Min(float64(i+1), truthSteps)/truthSteps
		for range 40 {
			a, b := (2*lo+hi)/3, (lo+2*hi)/3
			if q.Dist(c.at(a)) < q.Dist(c.at(b)) {
				hi = b
			} else {
				lo = a
			}
		}
		least = math.Min(least, q.Dist(c.at(lo)))
	}
	return least
}
