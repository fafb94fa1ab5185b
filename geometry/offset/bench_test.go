package offset_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/offset"
)

// garment returns 12 pieces of 60 knots with four edges each, one of them a hem.
func garment() ([]geometry.Path, [][]offset.Edge) {
	r := rand.New(rand.NewPCG(11, 12))
	var paths []geometry.Path
	var edges [][]offset.Edge
	for range 12 {
		paths = append(paths, blob(r, 60, 20))
		edges = append(edges, []offset.Edge{
			{Knot: 0, StartMM: 15, EndMM: 15},
			{Knot: 15, StartMM: 10, EndMM: 10},
			{Knot: 30, Folds: []float64{30, 10}},
			{Knot: 45, StartMM: 15, EndMM: 20},
		})
	}
	return paths, edges
}

func BenchmarkGarment(b *testing.B) {
	paths, edges := garment()
	for b.Loop() {
		for i, p := range paths {
			if _, err := offset.CutLine(p, edges[i], offset.Options{}); err != nil {
				b.Fatal(err)
			}
		}
	}
}

func BenchmarkManyKnots(b *testing.B) {
	for _, n := range []int{1000, 10000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			p := ragged(n)
			e := []offset.Edge{{Knot: 0, StartMM: 15, EndMM: 15}, {Knot: n / 2, StartMM: 10, EndMM: 20}}
			for b.Loop() {
				if _, err := offset.CutLine(p, e, offset.Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// ragged returns a polygon of n corners along a wavy, noisy outline.
func ragged(n int) geometry.Path {
	r := rand.New(rand.NewPCG(13, 14))
	var xy []float64
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		rad := 300 + 40*math.Sin(18*math.Pi*float64(i)/float64(n)) + 0.1*r.Float64()
		xy = append(xy, rad*c, rad*s)
	}
	return corners(xy...)
}
