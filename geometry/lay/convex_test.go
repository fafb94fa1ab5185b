package lay

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/peterstace/simplefeatures/geom"

	"secondcut/geometry"
)

// ragged returns a simple ring of n points with hollows.
func ragged(dice *rand.Rand, n int) geometry.Polyline {
	ring := make(geometry.Polyline, n)
	for i := range ring {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		r := 50 + 60*dice.Float64()
		ring[i] = geometry.Point{X: r * c, Y: r * s}
	}
	return ring
}

func polygonOf(ring geometry.Polyline) geom.Geometry {
	xy := make([]float64, 0, 2*len(ring)+2)
	for _, p := range append(append(geometry.Polyline{}, ring...), ring[0]) {
		xy = append(xy, p.X, p.Y)
	}
	return geom.NewPolygon([]geom.LineString{geom.NewLineString(geom.NewSequence(xy, geom.DimXY))}).AsGeometry()
}

// The convex parts are convex and have the ring's area together; they lie in it, so
// they cover it.
func TestConvexParts(t *testing.T) {
	dice := rand.New(rand.NewPCG(1, 2))
	for n := range 60 {
		ring := ragged(dice, 3+n)
		parts, err := convexParts(ring)
		if err != nil {
			t.Fatal(err)
		}
		area := 0.0
		for _, p := range parts {
			if !isConvex(p) {
				t.Errorf("ring of %d: a part is not convex", len(ring))
			}
			area += p.Area()
			in, err := geom.Intersection(polygonOf(p), polygonOf(ring))
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(in.Area()-p.Area()) > 1e-6*ring.Area() {
				t.Errorf("ring of %d: a part reaches out by %g mm²", len(ring), p.Area()-in.Area())
			}
		}
		if math.Abs(area-ring.Area()) > 1e-9*ring.Area() {
			t.Errorf("ring of %d: parts of %g mm², want %g", len(ring), area, ring.Area())
		}
	}
}

// A ring with fewer points encloses the ring, and hardly more.
func TestOutward(t *testing.T) {
	dice := rand.New(rand.NewPCG(3, 4))
	fewer := 0
	for range 40 {
		ring := ragged(dice, 120)
		for i, p := range ring { // smooth, as traced outlines are
			ring[i] = before(ring, i).Lerp(after(ring, i), 0.5).Lerp(p, 0.3)
		}
		out := outward(ring)
		fewer += len(ring) - len(out)
		if g := out.Area() / ring.Area(); g < 1 || g > 1+inflation+1e-12 {
			t.Errorf("area grew by a factor of %g", g)
		}
		rest, err := geom.Difference(polygonOf(ring), polygonOf(out))
		if err != nil {
			t.Fatal(err)
		}
		if rest.Area() > 1e-9*ring.Area() {
			t.Errorf("%g mm² lie outside", rest.Area())
		}
	}
	if fewer == 0 {
		t.Error("no point was dropped")
	}
}

// Two shapes overlap where the region says so, as the reference library sees it, and
// moving by the depth in the best direction frees convex ones.
func TestRegionAgainstReference(t *testing.T) {
	dice := rand.New(rand.NewPCG(5, 6))
	inside := 0
	for n := range 400 {
		a, b := ragged(dice, 3+n%12), ragged(dice, 3+n%7)
		pa, err := convexParts(a)
		if err != nil {
			t.Fatal(err)
		}
		pb, err := convexParts(b)
		if err != nil {
			t.Fatal(err)
		}
		r := newRegion(pa, pb, 0)
		d := geometry.Vec{X: 320 * (dice.Float64() - 0.5), Y: 320 * (dice.Float64() - 0.5)}
		over, err := geom.Intersection(polygonOf(a), polygonOf(b.Map(func(p geometry.Point) geometry.Point { return p.Add(d) })))
		if err != nil {
			t.Fatal(err)
		}
		depth := r.depth(d.X, d.Y)
		if depth > 0 {
			inside++
		}
		if depth > 1e-6 && over.Area() == 0 || depth == 0 && over.Area() > 1e-6 {
			t.Errorf("depth %g, but they share %g mm²", depth, over.Area())
		}
	}
	if inside < 40 || inside > 360 {
		t.Errorf("%d of 400 overlap: the test is one-sided", inside)
	}
}
