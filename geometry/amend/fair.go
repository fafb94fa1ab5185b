package amend

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"secondcut/geometry"
	"secondcut/geometry/fit"
	"secondcut/geometry/pattern"
)

// Sizes of making fair.
const (
	// MaxWithinMM is the farthest that a fair line may leave the one that was there: more
	// is another shape (judgement).
	MaxWithinMM = 30.0
	fairStepMM  = 2.0  // between points
	fairMost    = 600  // points at most
	fairTolMM   = 0.02 // of the curves through them
)

// Fair returns the piece with the stretch of its outline from one knot to another drawn
// with the least change of curvature that stays within a distance (mm, above 0 up to
// MaxWithinMM) of what is there. Its ends stay where they are, and a smooth end keeps its
// direction. Corners inside it go; an edge that begins there begins nearest to where it
// did. It fails with ErrOp.
//
// The points of the stretch, evenly spaced, are moved so that the sum of the squares of
// their third differences, which stand for the change of curvature, is least beside that
// of their moves; the weight of the first is made as large as the distance allows
// (Whittaker, On a new method of graduation, 1923, with third differences).
func Fair(p pattern.Piece, from, to int, within float64) (pattern.Piece, []geometry.Finding, error) {
	n := len(p.Knots)
	switch {
	case from < 0 || from >= n || to < 0 || to >= n || from == to:
		return p, nil, fmt.Errorf("%w: a stretch runs from one knot to another of the outline", ErrOp)
	case !(within > 0 && within <= MaxWithinMM):
		return p, nil, fmt.Errorf("%w: a line is made fair within more than 0 and at most %g mm", ErrOp, MaxWithinMM)
	}
	line := p.Knots.Between(from, to)
	pts := evenly(line, fairStepMM, fairMost)
	var start, end *geometry.Vec
	if v := heading(line[0], 0); !p.Knots[from].Corner {
		start = &v
	}
	if v := heading(line[len(line)-1], 1); !p.Knots[to].Corner {
		end = &v
	}
	segs := fit.Through(fairest(pts, start, end, within))
	return replaced(p, from, to, segs)
}

// evenly returns points along a chain at even distances of about a step, both ends
// included, seven at least.
func evenly(line []geometry.Segment, step float64, most int) []geometry.Point {
	whole := geometry.ChainLength(line)
	n := min(max(int(math.Ceil(whole/step)), 7), most)
	out := make([]geometry.Point, 0, n+1)
	i, done, l := 0, 0.0, line[0].Length()
	for k := range n {
		want := whole * float64(k) / float64(n)
		for want > done+l && i < len(line)-1 {
			done += l
			i++
			l = line[i].Length()
		}
		out = append(out, line[i].At(line[i].ParameterAt(want-done)))
	}
	return append(out, line[len(line)-1].D)
}

// fairest returns the fairest points within a distance, their directions, and the
// tolerance to draw through them with.
func fairest(pts []geometry.Point, start, end *geometry.Vec, within float64) ([]geometry.Point, []geometry.Vec, float64) {
	best := pts
	lo, hi := -2.0, 14.0 // of the weight, as a power of ten
	for range 24 {
		m := (lo + hi) / 2
		try, ok := smoothed(pts, start, end, math.Pow(10, m))
		if ok && farthest(pts, try) <= within {
			best, lo = try, m
		} else {
			hi = m
		}
	}
	return best, directions(best, start, end), fairTolMM
}

func farthest(a, b []geometry.Point) float64 {
	var far float64
	for i := range a {
		far = math.Max(far, a[i].Dist(b[i]))
	}
	return far
}

// smoothed solves for the points at a weight. The ends are held, and where a direction is
// given also the point beside each.
func smoothed(pts []geometry.Point, start, end *geometry.Vec, weight float64) ([]geometry.Point, bool) {
	n := len(pts)
	want := slices.Clone(pts)
	hold := map[int]bool{0: true, n - 1: true}
	if start != nil {
		want[1], hold[1] = pts[0].Add(start.Scale(pts[0].Dist(pts[1]))), true
	}
	if end != nil {
		want[n-2], hold[n-2] = pts[n-1].Add(end.Scale(-pts[n-1].Dist(pts[n-2]))), true
	}
	a := mat.NewSymBandDense(n, 3, nil)
	x, y := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	d := [4]float64{-1, 3, -3, 1}
	for i := range n {
		pull := 1.0
		if hold[i] {
			pull = 1e6 * weight
		}
		a.SetSymBand(i, i, a.At(i, i)+pull)
		x.SetVec(i, pull*want[i].X)
		y.SetVec(i, pull*want[i].Y)
		if i+3 >= n {
			continue
		}
		for j := range 4 {
			for k := j; k < 4; k++ {
				a.SetSymBand(i+j, i+k, a.At(i+j, i+k)+weight*d[j]*d[k])
			}
		}
	}
	var c mat.BandCholesky
	if !c.Factorize(a) || c.SolveVecTo(x, x) != nil || c.SolveVecTo(y, y) != nil {
		return nil, false
	}
	out := make([]geometry.Point, n)
	for i := range out {
		out[i] = geometry.Point{X: x.AtVec(i), Y: y.AtVec(i)}
	}
	out[0], out[n-1] = pts[0], pts[n-1]
	return out, true
}

// directions returns those of a course of points, through each and its neighbours; at an
// end, along the parabola through the last three.
func directions(pts []geometry.Point, start, end *geometry.Vec) []geometry.Vec {
	n := len(pts)
	out := make([]geometry.Vec, n)
	for i := 1; i < n-1; i++ {
		out[i] = pts[i+1].Sub(pts[i-1]).Unit()
	}
	out[0] = pts[1].Sub(pts[0]).Scale(4).Add(pts[2].Sub(pts[0]).Scale(-1)).Unit()
	out[n-1] = pts[n-1].Sub(pts[n-2]).Scale(4).Add(pts[n-1].Sub(pts[n-3]).Scale(-1)).Unit()
	if start != nil {
		out[0] = *start
	}
	if end != nil {
		out[n-1] = *end
	}
	return out
}

// replaced puts segments in place of the stretch of the outline between two knots, which
// stay. Edges that begin inside it begin on the nearest place of the new line.
func replaced(p pattern.Piece, from, to int, segs []geometry.Segment) (pattern.Piece, []geometry.Finding, error) {
	n := len(p.Knots)
	out := p.Knots
	out = slices.Clone(out)
	ends := geometry.Path{}
	for i, s := range segs {
		b := s.B
		k := geometry.Knot{At: s.A, Out: &b}
		if i == 0 {
			k = out[from]
			k.Out = &b
		} else {
			c := segs[i-1].C
			k.In = &c
		}
		ends = append(ends, k)
	}
	last := segs[len(segs)-1].C
	out[to].In = &last
	// The ring runs from the stretch round to its end; then it begins again with its old
	// first knot, or the first one after it.
	ring := ends
	for i := to; i != from; i = (i + 1) % n {
		ring = append(ring, out[i])
	}
	if inner := (n - from) % n; inner == 0 || (0-from+n)%n >= (to-from+n)%n {
		back := len(ends) + (n-to)%n
		if inner == 0 {
			back = 0
		}
		ring = append(append(geometry.Path{}, ring[back%len(ring):]...), ring[:back%len(ring)]...)
	}
	now, findings := p.CarryOver(ring)
	return now, findings, sound(p, now)
}
