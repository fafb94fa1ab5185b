package geometry_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"secondcut/geometry"
)

// ring is a square of 100 mm whose second side bulges as a quarter of a circle of
// cubics would: 0.5523 is the usual constant (from memory).
func ring() geometry.Path {
	const k = 55.228475
	out, in := geometry.Point{X: 100 + k, Y: 0}, geometry.Point{X: 200, Y: 100 - k}
	return geometry.Path{
		{At: geometry.Point{}, Corner: true},
		{At: geometry.Point{X: 100}, Out: &out, Corner: true},
		{At: geometry.Point{X: 200, Y: 100}, In: &in, Corner: true},
		{At: geometry.Point{Y: 100}, Corner: true},
	}
}

func TestBetween(t *testing.T) {
	p := ring()
	for _, c := range []struct{ from, to, count int }{{0, 2, 2}, {3, 1, 2}, {2, 2, 4}, {1, 0, 3}} {
		line := p.Between(c.from, c.to)
		if len(line) != c.count || line[0].A != p[c.from].At || line[len(line)-1].D != p[c.to].At {
			t.Errorf("from %d to %d: %d segments, %v to %v", c.from, c.to, len(line), line[0].A, line[len(line)-1].D)
		}
	}
}

// A quarter of a circle of 100 mm is 50 pi long; the cubic is off by less than 3e-4 of
// the radius (from memory), so by less than 0.05 mm along it.
func TestChains(t *testing.T) {
	p := ring()
	line := p.Between(0, 2)
	if got, want := geometry.ChainLength(line), 100+50*math.Pi; math.Abs(got-want) > 0.05 {
		t.Errorf("the chain is %.3f mm long, want %.3f", got, want)
	}
	if got := geometry.ChainLength(geometry.ChainReversed(line)); got != geometry.ChainLength(p.Reversed().Between(1, 3)) {
		t.Errorf("walked back the chain is %.6f mm long, the ring walked back %.6f", got, geometry.ChainLength(p.Reversed().Between(1, 3)))
	}
	// Half of the quarter lies at 45 degrees on the circle about (100, 100).
	i, u := geometry.ChainAt(line, (100+25*math.Pi)/(100+50*math.Pi))
	want := geometry.Point{X: 100 + 100*math.Sqrt(0.5), Y: 100 - 100*math.Sqrt(0.5)}
	if i != 1 || line[i].At(u).Dist(want) > 0.05 {
		t.Errorf("segment %d at %.4f: %v, want %v", i, u, line[i].At(u), want)
	}
	for _, c := range []struct{ f, want float64 }{{-1, 0}, {2, 1}} {
		if i, u := geometry.ChainAt(line, c.f); u != c.want || i != int(c.want) {
			t.Errorf("a fraction of %g is at segment %d, %g", c.f, i, u)
		}
	}
	for _, mm := range []float64{0, 20, 77.7, 157} {
		if head, _ := line[1].Split(line[1].ParameterAt(mm)); math.Abs(head.Length()-mm) > 1e-6 {
			t.Errorf("%g mm along the curve its head is %.9f mm long", mm, head.Length())
		}
	}
}

// The nearest point is no farther than any of many samples, and square to the curve
// unless it is an end.
func TestNearest(t *testing.T) {
	p := ring()
	poly := p.Flatten(0.001)
	r := rand.New(rand.NewPCG(1, 2))
	for range 500 {
		q := geometry.Point{X: 300*r.Float64() - 50, Y: 300*r.Float64() - 100}
		best := math.Inf(1)
		for i := range p {
			s := p.Segment(i)
			u, d := s.Nearest(q)
			for k := range 501 {
				if e := s.At(float64(k) / 500).Dist(q); e < d-1e-9 {
					t.Fatalf("%v: %g mm at %g of segment %d, but %g at %g", q, d, u, i, e, float64(k)/500)
				}
			}
			if off := s.At(u).Sub(q).Dot(s.Deriv(u).Unit()); u > 0 && u < 1 && math.Abs(off) > 1e-6 {
				t.Errorf("%v: the nearest point of segment %d is %g mm off its foot", q, i, off)
			}
			best = math.Min(best, d)
		}
		if d := poly.Dist(q); math.Abs(d-best) > 0.002 {
			t.Errorf("%v lies %g mm from the curve and %g from its polyline", q, best, d)
		}
		if at, d := poly.Nearest(q); math.Abs(at.Dist(q)-d) > 1e-9 {
			t.Errorf("%v: the nearest point is %g mm away, said to be %g", q, at.Dist(q), d)
		}
	}
}
