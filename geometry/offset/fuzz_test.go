package offset_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/offset"
)

// known reports whether err is one of those that the package promises.
func known(err error) bool {
	var w *offset.TooWideError
	if errors.As(err, &w) {
		return w.LargestMM >= 0 && w.LargestMM <= w.AskedMM
	}
	for _, e := range []error{offset.ErrOutline, offset.ErrEdges, offset.ErrDistance, offset.ErrOptions} {
		if errors.Is(err, e) {
			return true
		}
	}
	return false
}

// sound checks what must hold of every result.
func sound(t *testing.T, r offset.Result) {
	t.Helper()
	for _, k := range r.Path {
		for _, q := range []*geometry.Point{&k.At, k.In, k.Out} {
			if q != nil && !q.IsFinite() {
				t.Fatalf("a coordinate is not finite: %+v", k)
			}
		}
	}
	for _, f := range r.Folds {
		for _, l := range f.Lines {
			if math.IsNaN(l.ExcessMM) || len(l.Line) == 0 {
				t.Fatalf("fold line %+v", l)
			}
		}
	}
	simple(t, r.Path.Flatten(0.0005))
}

// simple checks each side of a ring against each other one. (The reference
// library finds fault with sides that run on in one line but for the last bit.)
func simple(t *testing.T, ring geometry.Polyline) {
	t.Helper()
	n := len(ring)
	for i, a := range ring {
		b := ring[(i+1)%n]
		lo, hi := geometry.Polyline{a, b}.Bounds()
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue
			}
			c, d := ring[j], ring[(j+1)%n]
			if c.X < lo.X && d.X < lo.X || c.X > hi.X && d.X > hi.X || c.Y < lo.Y && d.Y < lo.Y || c.Y > hi.Y && d.Y > hi.Y {
				continue
			}
			u, v := b.Sub(a), d.Sub(c)
			if u.Cross(c.Sub(a))*u.Cross(d.Sub(a)) < 0 && v.Cross(a.Sub(c))*v.Cross(b.Sub(c)) < 0 {
				t.Fatalf("cut line crosses itself at %v", a)
			}
		}
	}
}

// edgesFor gives edges at the knots all kinds of widths, linear ones and folds.
func edgesFor(r *rand.Rand, knots []int) []offset.Edge {
	var edges []offset.Edge
	for _, k := range knots {
		e := offset.Edge{Knot: k, Corner: offset.Join(r.IntN(2))}
		width := func() float64 { return []float64{0, 3, 10, 15, 40, 100}[r.IntN(6)] }
		switch r.IntN(4) {
		case 0:
			e.StartMM = width()
			e.EndMM = e.StartMM
		case 1, 2:
			e.StartMM, e.EndMM = width(), width()
		case 3:
			e.Folds = []float64{5 + 60*r.Float64()}
			for len(e.Folds) < 3 && r.IntN(2) == 0 {
				e.Folds = append(e.Folds, e.Folds[len(e.Folds)-1]*(0.1+0.9*r.Float64()))
			}
		}
		edges = append(edges, e)
	}
	return edges
}

// Random outlines, widths, folds and corners: a sound cut line or a named error.
func TestAnyFinish(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 10))
	drawn := 0
	for i := range 600 {
		p, knots := random(r)
		edges := edgesFor(r, knots)
		res, err := offset.CutLine(p, edges, offset.Options{})
		if err == nil {
			drawn++
			sound(t, res)
		} else if !known(err) {
			t.Errorf("%d: unexpected error: %v", i, err)
		}
		if t.Failed() {
			t.Fatalf("%d: %s\nedges %+v", i, show(p), edges)
		}
	}
	if drawn < 432 {
		t.Errorf("only %d of 600 drawn", drawn)
	}
}
