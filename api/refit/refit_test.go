package refit_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"secondcut/api/refit"
	"secondcut/geometry"
	"secondcut/vision"
)

// wavy is a square of 200 mm, one side of which bulges by depth mm in waves of 40
// mm, with noise as of threads.
func wavy(depth float64) geometry.Polyline {
	rnd := rand.New(rand.NewPCG(1, 2))
	var out geometry.Polyline
	at := func(x, y float64) {
		out = append(out, geometry.Point{X: x + 0.05*rnd.NormFloat64(), Y: y + 0.05*rnd.NormFloat64()})
	}
	for s := 0.0; s < 200; s += 0.5 {
		at(s, -depth*math.Sin(2*math.Pi*s/40))
	}
	for s := 0.0; s < 200; s += 0.5 {
		at(200, s)
	}
	for s := 0.0; s < 200; s += 0.5 {
		at(200-s, 200)
	}
	for s := 0.0; s < 200; s += 0.5 {
		at(0, 200-s)
	}
	return out
}

func traced(rings ...geometry.Polyline) vision.TracedPiece {
	p := vision.TracedPiece{UncertaintyMM: 0.4}
	for _, r := range rings {
		p.Seen = append(p.Seen, vision.SeenEdge{Points: r})
	}
	return p
}

// At rest the outline follows what was seen, corners included; smoother takes no
// more knots and lets small waves go.
func TestSmoothness(t *testing.T) {
	p := traced(wavy(0.5))
	knots := map[float64]int{}
	for _, smooth := range []float64{-1, 0, 1} {
		out, err := refit.Piece(p, smooth)
		if err != nil {
			t.Fatal(err)
		}
		knots[smooth] = len(out.Knots)
		// A misfit of 0.12 mm may stay, four times that at 1; all round, 800 mm.
		off := 0.12 * math.Pow(4, smooth)
		if a := out.Knots.Flatten(0.02).Area(); math.Abs(a-40000) > 800*off {
			t.Errorf("smooth %v: area %.0f mm2, want 40000", smooth, a)
		}
		for _, c := range []geometry.Point{{X: 0, Y: 0}, {X: 200, Y: 0}, {X: 200, Y: 200}, {X: 0, Y: 200}} {
			best := math.Inf(1)
			for _, q := range out.Knots.Corners() {
				best = math.Min(best, q.Dist(c))
			}
			if best > 1 {
				t.Errorf("smooth %v: the corner at %v is %.2f mm off", smooth, c, best)
			}
		}
		if out.UncertaintyMM < 0.4 {
			t.Errorf("smooth %v: surer (%.2f mm) than the trace", smooth, out.UncertaintyMM)
		}
	}
	if knots[-1] <= knots[1] || knots[0] > knots[-1] || knots[1] > knots[0] {
		t.Errorf("knots %v for -1, 0, 1", knots)
	}
}

func TestHolesAndOldTraces(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	hole := geometry.Polyline{}
	for i := range 1000 {
		s, c := math.Sincos(-2 * math.Pi * float64(i) / 1000)
		r := 80 + 0.05*rnd.NormFloat64()
		hole = append(hole, geometry.Point{X: 100 + r*c, Y: 100 + r*s})
	}
	out, err := refit.Piece(traced(wavy(0), hole), 0)
	if err != nil || len(out.Holes) != 1 {
		t.Fatalf("%d holes, %v", len(out.Holes), err)
	}
	if a := out.Holes[0].Flatten(0.02).Area(); math.Abs(a+math.Pi*6400) > 60 {
		t.Errorf("area of the hole %.1f mm2, want %.1f, clockwise", a, -math.Pi*6400)
	}
	if _, err := refit.Piece(vision.TracedPiece{}, 0); !errors.Is(err, refit.ErrNotKept) {
		t.Errorf("without raw edges: %v", err)
	}
	if _, err := refit.Piece(traced(geometry.Polyline{{X: 1, Y: 1}, {X: 2, Y: 1}}), 0); err == nil {
		t.Error("two points make an outline")
	}
}

func BenchmarkPiece(b *testing.B) {
	p := traced(wavy(0.5))
	for b.Loop() {
		if _, err := refit.Piece(p, 0.5); err != nil {
			b.Fatal(err)
		}
	}
}
