package pattern_test

import (
	"fmt"
	"math"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// BenchmarkDraftAndCheck: twelve pieces of 60 knots, all with finishes.
func BenchmarkDraftAndCheck(b *testing.B) {
	var g pattern.Garment
	g.Format, g.Name = pattern.Format, "Smock"
	for n := range 12 {
		p := blob(60)
		p.ID, p.Name = fmt.Sprint(n), fmt.Sprint("Piece ", n)
		g.Pieces = append(g.Pieces, p)
		if n > 0 {
			g.SeamPairs = append(g.SeamPairs, pattern.SeamPair{
				ID: fmt.Sprint(n), Name: "seam", A: []pattern.Run{{Piece: fmt.Sprint(n), Edge: "a"}}, B: []pattern.Run{{Piece: fmt.Sprint(n - 1), Edge: "a"}},
			})
		}
	}
	for b.Loop() {
		if _, _, err := pattern.Review(g, pattern.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// blob is a smooth round piece of n knots in four edges, some 500 mm wide.
func blob(n int) pattern.Piece {
	p := pattern.Piece{Name: "Blob"}
	at := func(i float64) (geometry.Point, geometry.Vec) {
		a := i / float64(n) * 2 * math.Pi
		s, c := math.Sincos(a)
		r, dr := 250+30*math.Sin(3*a), 90*math.Cos(3*a)
		return pt(r*c, r*s), geometry.Vec{X: dr*c - r*s, Y: dr*s + r*c}
	}
	for i := range n {
		q, d := at(float64(i))
		h := d.Scale(2 * math.Pi / float64(n) / 3)
		in, out := q.Add(h.Scale(-1)), q.Add(h)
		p.Knots = append(p.Knots, geometry.Knot{At: q, In: &in, Out: &out})
	}
	for k, id := range []string{"a", "b", "c", "d"} {
		p.Edges = append(p.Edges, pattern.Edge{ID: id, Name: id, Knot: k * n / 4, OldAllowance: length(10), Finish: seam(15)})
	}
	p.Marks = []pattern.Mark{{ID: "g", Kind: pattern.MarkGrain, Deg: deg(90)}, {ID: "n", Kind: pattern.MarkNotch, Edge: "a", At: 0.5}}
	return p
}
