package sheet

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"secondcut/geometry"
)

// blob draws a star-shaped piece with random radii.
func blob(t *rapid.T) Piece {
	n := rapid.IntRange(5, 14).Draw(t, "knots")
	points := make([]geometry.Point, n)
	for i := range points {
		r := rapid.Float64Range(30, 600).Draw(t, "radius")
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		points[i] = at(r*c, r*s)
	}
	return Piece{Name: "Blob", Outline: straight(points...)}
}

// Every bit of a piece lies on a printed tile, every printed tile has a bit of
// it, and neighbours show the same joins with the same numbers.
func TestTilesCoverThePiece(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		opt, err := Options{}.withDefaults()
		if err != nil {
			t.Fatal(err)
		}
		l, err := arrange([]Piece{blob(t)}, opt, box{})
		if err != nil {
			t.Fatal(err)
		}
		piece := l.laid[0].Piece
		used := map[tile]bool{}
		see := func(q geometry.Point) {
			covered := false
			for _, at := range l.tiles {
				if around(q, 0, 0).inside(l.core(at)) >= -1e-9 {
					covered, used[at] = true, true
				}
			}
			if !covered {
				t.Fatalf("%v lies on no tile", q)
			}
		}
		for _, s := range piece.Outline.Segments() {
			for u := 0.0; u <= 1; u += 1.0 / 2048 {
				see(s.At(u))
			}
			for _, at := range l.tiles { // a corner may be cut off by less than a step
				used[at] = used[at] || crosses(s, l.core(at))
			}
		}
		rings, b := piece.rings(), piece.bounds()
		for i := range 60 {
			for j := range 60 {
				q := at(b.lo.X+b.width()*float64(i)/59, b.lo.Y+b.height()*float64(j)/59)
				if within(rings, q) {
					see(q)
				}
			}
		}
		for _, at := range l.tiles {
			if !used[at] {
				t.Errorf("tile %s is blank", at.name())
			}
			checkJoins(t, l, at)
		}
	})
}

// crosses reports whether a straight segment has a point in a box (Liang and Barsky,
// 1984).
func crosses(s geometry.Segment, b box) bool {
	from, to := 0.0, 1.0
	d := s.D.Sub(s.A)
	for _, c := range [4][2]float64{{-d.X, s.A.X - b.lo.X}, {d.X, b.hi.X - s.A.X}, {-d.Y, s.A.Y - b.lo.Y}, {d.Y, b.hi.Y - s.A.Y}} {
		switch {
		case c[0] < 0:
			from = math.Max(from, c[1]/c[0])
		case c[0] > 0:
			to = math.Min(to, c[1]/c[0])
		case c[1] < 0:
			return false
		}
	}
	return from <= to
}
