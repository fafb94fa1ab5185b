package score

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/peterstace/simplefeatures/geom"

	"secondcut/geometry"
)

// reference builds the ring in the reference library.
func reference(ring geometry.Polyline) (geom.LineString, geom.Polygon) {
	xy := make([]float64, 0, 2*len(ring)+2)
	for _, p := range append(append(geometry.Polyline{}, ring...), ring[0]) {
		xy = append(xy, p.X, p.Y)
	}
	line := geom.NewLineString(geom.NewSequence(xy, geom.DimXY))
	return line, geom.NewPolygon([]geom.LineString{line})
}

// wobbly returns a ring of n points round a circle whose radius varies.
func wobbly(rnd *rand.Rand, n int) geometry.Polyline {
	ring := make(geometry.Polyline, n)
	for i := range ring {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		r := 80 + 30*rnd.Float64()
		ring[i] = geometry.Point{X: r * c, Y: 1.4 * r * s}
	}
	return ring
}

// Area, length, and the Hausdorff distance (of the points that are compared, as
// the greatest of their distances) are those of a library that knows nothing of
// this one: github.com/peterstace/simplefeatures.
func TestAgainstReferenceGeometry(t *testing.T) {
	rnd := rand.New(rand.NewPCG(8, 15))
	for range 20 {
		a, b := wobbly(rnd, 30), wobbly(rnd, 37)
		lineA, polyA := reference(a)
		lineB, _ := reference(b)
		if want := polyA.Area(); math.Abs(a.Area()-want) > 1e-6*want {
			t.Errorf("area %v, want %v", a.Area(), want)
		}
		if want := lineA.Length(); math.Abs(a.Length()-want) > 1e-9*want {
			t.Errorf("length %v, want %v", a.Length(), want)
		}
		var got, want float64
		for _, pair := range []struct {
			from geometry.Polyline
			to   geometry.Polyline
			ref  geom.LineString
		}{{a, b, lineB}, {b, a, lineA}} {
			for _, d := range distances(pair.from, pair.to) {
				got = math.Max(got, d)
			}
			for _, p := range resample(pair.from, stepMM) {
				d, _ := geom.Distance(geom.NewPoint(geom.Coordinates{XY: geom.XY{X: p.X, Y: p.Y}}).AsGeometry(), pair.ref.AsGeometry())
				want = math.Max(want, d)
			}
		}
		if math.Abs(got-want) > 1e-9 {
			t.Errorf("greatest distance %v, want %v", got, want)
		}
	}
}
