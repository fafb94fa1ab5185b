package score

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"secondcut/geometry"
)

// pose is a similar map: q = scale R(turn) p + move.
type pose struct {
	turn, scale float64
	move        geometry.Point
}

func (f pose) apply(p geometry.Point) geometry.Point {
	s, c := math.Sincos(f.turn)
	return geometry.Point{X: f.scale*(c*p.X-s*p.Y) + f.move.X, Y: f.scale*(s*p.X+c*p.Y) + f.move.Y}
}

// align returns the rigid map that lays src on dst: tried from 72 turns about
// the centroid, the best four refined.
func align(src, dst geometry.Polyline) pose {
	cs, cd := centroid(src), centroid(dst)
	p, q := resample(src, src.Length()/240), resample(dst, dst.Length()/240)
	type start struct {
		pose
		cost float64
	}
	var starts []start
	for k := range 72 {
		f := pose{turn: float64(k) * math.Pi / 36, scale: 1}
		o := f.apply(cs)
		f.move = geometry.Point{X: cd.X - o.X, Y: cd.Y - o.Y}
		moved := make(geometry.Polyline, len(p))
		for i := range p {
			moved[i] = f.apply(p[i])
		}
		starts = append(starts, start{f, spread(moved, q) + spread(q, moved)})
	}
	slices.SortFunc(starts, func(a, b start) int {
		if a.cost < b.cost {
			return -1
		}
		return 1
	})
	best, bestCost := pose{}, math.Inf(1)
	for _, s := range starts[:4] {
		if f, cost := refine(src, dst, s.pose, false); cost < bestCost {
			best, bestCost = f, cost
		}
	}
	return best
}

// scaled refines a rigid map to the best similar one.
func scaled(src, dst geometry.Polyline, from pose) pose {
	f, _ := refine(src, dst, from, true)
	return f
}

// spread returns the mean squared distance from points of a to the nearest of b.
func spread(a, b geometry.Polyline) float64 {
	sum := 0.0
	for _, p := range a {
		d := nearest(b, p)
		sum += d * d
	}
	return sum / float64(len(a))
}

// refine lays src on dst by least squares of the distances both ways, measured
// across the edge (iterated closest points with the point-to-line error of Chen
// and Medioni 1992). It returns the map and the mean squared distance.
func refine(src, dst geometry.Polyline, f pose, withScale bool) (pose, float64) {
	step := math.Max(1, src.Length()/1500)
	p, q := resample(src, step), resample(dst, step)
	onDst, onSrc := newIndex(dst), newIndex(src)
	cost := math.Inf(1)
	for range 60 {
		eq := equations{origin: f.apply(centroid(src)), withScale: withScale}
		for _, a := range p {
			m := f.apply(a)
			foot, n := onDst.foot(m)
			eq.add(m, foot, n)
		}
		for _, b := range q {
			foot, n := onSrc.foot(f.undo(b))
			eq.add(f.apply(foot), b, turned(n, f.turn))
		}
		f = eq.solve(f)
		last := cost
		if cost = eq.cost(); last-cost < 1e-10*last {
			break
		}
	}
	return f, cost
}

func (f pose) undo(q geometry.Point) geometry.Point {
	s, c := math.Sincos(f.turn)
	x, y := (q.X-f.move.X)/f.scale, (q.Y-f.move.Y)/f.scale
	return geometry.Point{X: c*x + s*y, Y: -s*x + c*y}
}

func turned(v geometry.Vec, a float64) geometry.Vec {
	s, c := math.Sincos(a)
	return geometry.Vec{X: c*v.X - s*v.Y, Y: s*v.X + c*v.Y}
}

// equations gathers the linearised distances along normals: unknown are a small
// turn and growth about origin, and a move.
type equations struct {
	origin    geometry.Point
	withScale bool
	a         [4][4]float64
	b         [4]float64
	sum       float64
	n         int
}

func (e *equations) add(from, to geometry.Point, n geometry.Vec) {
	arm, gap := from.Sub(e.origin), to.Sub(from)
	row := [4]float64{n.X, n.Y, arm.Perp().Dot(n), arm.Dot(n)}
	r := gap.Dot(n)
	for i := range row {
		for j := range row {
			e.a[i][j] += row[i] * row[j]
		}
		e.b[i] += row[i] * r
	}
	e.sum += gap.Dot(gap)
	e.n++
}

func (e *equations) cost() float64 { return e.sum / float64(e.n) }

// solve returns f followed by the small map that the equations ask for.
func (e *equations) solve(f pose) pose {
	n := 3
	if e.withScale {
		n = 4
	}
	a, b := mat.NewDense(n, n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		for j := range n {
			a.Set(i, j, e.a[i][j])
		}
		b.SetVec(i, e.b[i])
	}
	var x mat.VecDense
	if x.SolveVec(a, b) != nil {
		return f
	}
	grow := 1.0
	if e.withScale {
		grow += x.AtVec(3)
	}
	arm := turned(f.move.Sub(e.origin), x.AtVec(2)).Scale(grow)
	return pose{
		turn: f.turn + x.AtVec(2), scale: f.scale * grow,
		move: e.origin.Add(arm).Add(geometry.Vec{X: x.AtVec(0), Y: x.AtVec(1)}),
	}
}

// centroid returns the centre of the ring's area.
func centroid(ring geometry.Polyline) geometry.Point {
	var x, y, a float64
	o := ring[0]
	for i, p := range ring {
		u, v := p.Sub(o), ring[(i+1)%len(ring)].Sub(o)
		c := u.Cross(v)
		x, y, a = x+c*(u.X+v.X), y+c*(u.Y+v.Y), a+c
	}
	if a == 0 {
		return o
	}
	return geometry.Point{X: o.X + x/(3*a), Y: o.Y + y/(3*a)}
}
