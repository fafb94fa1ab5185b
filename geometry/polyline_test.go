package geometry_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"secondcut/geometry"
)

func TestPolyline(t *testing.T) {
	p := geometry.Polyline{pt(0, 0), pt(4, 0), pt(4, 3), pt(0, 3)}
	if p.Area() != 12 || p.Length() != 14 {
		t.Errorf("area %v, length %v", p.Area(), p.Length())
	}
	if lo, hi := p.Bounds(); lo != pt(0, 0) || hi != pt(4, 3) {
		t.Errorf("bounds %v %v", lo, hi)
	}
	if p[0] != pt(0, 0) {
		t.Error("Reversed must not change its ring")
	}
	var none geometry.Polyline
	if lo, hi := none.Bounds(); none.Area() != 0 || none.Length() != 0 || lo != hi || none.Contains(pt(0, 0)) {
		t.Error("no points: nothing inside")
	}
}

// Whether a point lies inside a ring that is a star seen from the origin follows
// from its direction and distance alone.
func TestContainsAgainstStar(t *testing.T) {
	rnd := rand.New(rand.NewPCG(4, 4))
	const n = 24
	var p geometry.Polyline
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
		r := 20 + 60*rnd.Float64()
		p = append(p, pt(r*cos, r*sin))
	}
	for range 2000 {
		q := pt(120*(rnd.Float64()-0.5), 120*(rnd.Float64()-0.5))
		th := math.Mod(math.Atan2(q.Y, q.X)+2*math.Pi, 2*math.Pi)
		i := int(th / (2 * math.Pi) * n)
		a, b := p[i], p[(i+1)%n]
		want := b.Sub(a).Cross(q.Sub(a)) > 0
		if p.Contains(q) != want {
			t.Fatalf("%v: %v, want %v", q, !want, want)
		}
	}
}
