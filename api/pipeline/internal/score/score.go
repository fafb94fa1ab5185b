// Package score compares traced outlines with true ones, whatever frame each is
// given in: rigid alignment first, then distances both ways.
package score

import (
	"cmp"
	"math"
	"slices"

	"secondcut/geometry"
)

// Outline is a closed ring with its corners, mm, counter-clockwise.
type Outline struct {
	Ring    geometry.Polyline
	Corners []geometry.Point
}

// Result is how far a traced outline is from the true one after rigid alignment.
type Result struct {
	// ScalePct is by how much the traced outline is too large, in per cent of
	// its size: the scale of the best similar map, less one.
	ScalePct float64
	// P50, P95 and Max are distances in mm between the two outlines, taken
	// every half millimetre along both.
	P50, P95, Max float64
	// Corners are true ones; Found those with a traced corner within 1 mm,
	// False the traced ones further than 5 mm from all true ones.
	Corners, Found, False int
}

// stepMM is the spacing of the points at which outlines are compared.
const stepMM = 0.5

// Compare scores one outline against its truth.
func Compare(truth, got Outline) Result {
	pose := align(got.Ring, truth.Ring)
	moved := got.mapped(pose)
	d := append(distances(moved.Ring, truth.Ring), distances(truth.Ring, moved.Ring)...)
	slices.Sort(d)
	r := Result{
		P50: quantile(d, 0.5), P95: quantile(d, 0.95), Max: d[len(d)-1],
		ScalePct: (1/scaled(got.Ring, truth.Ring, pose).scale - 1) * 100,
		Corners:  len(truth.Corners),
	}
	for _, c := range truth.Corners {
		if nearest(moved.Corners, c) <= 1 {
			r.Found++
		}
	}
	for _, c := range moved.Corners {
		if nearest(truth.Corners, c) > 5 {
			r.False++
		}
	}
	return r
}

// Pair returns for each true outline the index of the traced one that belongs to
// it, or -1: pairs that lie on each other best are made first.
func Pair(truth, got []Outline) []int {
	type pair struct {
		i, j int
		off  float64
	}
	var pairs []pair
	for i, t := range truth {
		for j, g := range got {
			p := pair{i, j, math.Abs(math.Log(math.Abs(g.Ring.Area() / t.Ring.Area())))}
			if p.off < 0.2 && len(truth) > 1 {
				p.off = math.Min(Compare(t, g).P95*1e-3, 0.2) // by shape where the areas are alike
			}
			pairs = append(pairs, p)
		}
	}
	slices.SortStableFunc(pairs, func(a, b pair) int { return cmp.Compare(a.off, b.off) })
	out, taken := make([]int, len(truth)), make([]bool, len(got))
	for i := range out {
		out[i] = -1
	}
	for _, p := range pairs {
		if out[p.i] < 0 && !taken[p.j] {
			out[p.i], taken[p.j] = p.j, true
		}
	}
	return out
}

func (o Outline) mapped(p pose) Outline {
	m := Outline{Ring: make(geometry.Polyline, len(o.Ring)), Corners: make([]geometry.Point, len(o.Corners))}
	for i, q := range o.Ring {
		m.Ring[i] = p.apply(q)
	}
	for i, q := range o.Corners {
		m.Corners[i] = p.apply(q)
	}
	return m
}

func nearest(list []geometry.Point, p geometry.Point) float64 {
	best := math.Inf(1)
	for _, q := range list {
		best = math.Min(best, p.Dist(q))
	}
	return best
}

// distances returns how far points along a are from b.
func distances(a, b geometry.Polyline) []float64 {
	pts := resample(a, stepMM)
	ix := newIndex(b)
	d := make([]float64, len(pts))
	for i, p := range pts {
		q, _ := ix.foot(p)
		d[i] = p.Dist(q)
	}
	return d
}

// resample returns points along the ring at equal distances of about step.
func resample(ring geometry.Polyline, step float64) geometry.Polyline {
	n := max(64, int(math.Ceil(ring.Length()/step)))
	gap := ring.Length() / float64(n)
	out := make(geometry.Polyline, 0, n)
	left := 0.0
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		l := a.Dist(b)
		for left < l && len(out) < n {
			out = append(out, a.Lerp(b, left/l))
			left += gap
		}
		left -= l
	}
	return out
}

func quantile(sorted []float64, q float64) float64 {
	at := q * float64(len(sorted)-1)
	i := int(at)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (sorted[i+1]-sorted[i])*(at-float64(i))
}
