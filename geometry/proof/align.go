package proof

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// sample is a place on the stored line, with its normal to the outside.
type sample struct {
	at     geometry.Point
	normal geometry.Vec
	edge   int
}

// mostScale is how much larger or smaller an outline may be and still be the piece.
const mostScale = 1.25

type samples struct {
	length float64 // of the line
	list   []sample
	centre geometry.Point
}

// newSamples returns places all along a line, some two millimetres apart, each with the
// edge of the piece that it is nearest to.
func newSamples(line geometry.Path, p pattern.Piece) samples {
	const apart, most = 2.0, 1200
	step := math.Max(apart, line.Length()/most)
	out := samples{length: line.Length()}
	edges := edgesOf(p)
	for _, s := range line.Segments() {
		n := max(1, int(math.Ceil(s.Length()/step)))
		for i := range n {
			t := (float64(i) + 0.5) / float64(n)
			at, dir := s.At(t), s.Deriv(t).Unit()
			out.list = append(out.list, sample{at, geometry.Vec{X: dir.Y, Y: -dir.X}, nearestEdge(edges, at)})
		}
	}
	var sum geometry.Vec
	for _, s := range out.list {
		sum = sum.Add(geometry.Vec(s.at))
	}
	out.centre = geometry.Point(sum.Scale(1 / float64(len(out.list))))
	return out
}

func edgesOf(p pattern.Piece) [][]geometry.Point {
	out := make([][]geometry.Point, len(p.Edges))
	for k, e := range p.Edges {
		to := p.Edges[(k+1)%len(p.Edges)].Knot
		for j := e.Knot; ; j = (j + 1) % len(p.Knots) {
			s := p.Knots.Segment(j)
			for i := range 9 {
				out[k] = append(out[k], s.At(float64(i)/8))
			}
			if (j+1)%len(p.Knots) == to {
				break
			}
		}
	}
	return out
}

func nearestEdge(edges [][]geometry.Point, q geometry.Point) int {
	best, k := math.Inf(1), 0
	for i, line := range edges {
		for j := 1; j < len(line); j++ {
			if d := q.Dist(onStretch(line[j-1], line[j], q)); d < best {
				best, k = d, i
			}
		}
	}
	return k
}

func onStretch(a, b, q geometry.Point) geometry.Point {
	d := b.Sub(a)
	if d.Dot(d) == 0 {
		return a
	}
	return a.Lerp(b, math.Min(math.Max(q.Sub(a).Dot(d)/d.Dot(d), 0), 1))
}

// reach returns the root mean square of how far the line's normals stand from its centre:
// an edge that is off by as much on all sides looks like a scale of 1 / reach.
func (s samples) reach() float64 {
	sum := 0.0
	for _, p := range s.list {
		d := p.normal.Dot(p.at.Sub(s.centre))
		sum += d * d
	}
	return math.Sqrt(sum / float64(len(s.list)))
}

// thin returns about n of the samples.
func (s samples) thin(n int) samples {
	out := samples{centre: s.centre}
	step := max(1, len(s.list)/n)
	for i := 0; i < len(s.list); i += step {
		out.list = append(out.list, s.list[i])
	}
	return out
}

// pose takes a stored point to the new outline: p -> scale R(turn) p + move.
type pose struct {
	turn, scale float64
	move        geometry.Vec
}

func (t pose) linear(v geometry.Vec) geometry.Vec {
	s, c := math.Sincos(t.turn)
	return geometry.Vec{X: t.scale * (c*v.X - s*v.Y), Y: t.scale * (s*v.X + c*v.Y)}
}

func (t pose) apply(p geometry.Point) geometry.Point {
	return geometry.Point(t.linear(geometry.Vec(p)).Add(t.move))
}

// rigid returns the pose without its scale, which leaves a centre where it comes to lie.
func (t pose) rigid(centre geometry.Point) pose {
	at := t.apply(centre)
	t.scale = 1
	t.move = at.Sub(geometry.Point(t.linear(geometry.Vec(centre))))
	return t
}

// fit is an outline laid on the stored line; cost is the distance in mm that nine tenths of
// it keep within.
type fit struct {
	ring     geometry.Polyline
	mirrored bool
	pose     pose
	cost     float64
	off      float64 // the share that is off
}

// apart returns the distances with the common scale taken out, where there is one.
func (f fit) apart(ref samples, scaled bool) []float64 {
	if !scaled {
		return distances(ref, f.ring, f.pose.rigid(ref.centre))
	}
	return distances(ref, f.ring, f.pose)
}

// align finds the pose of an outline, also turned over. It begins at 16 turns with few
// points, and goes on with the best of each side. Where both sides fit as well, as on a
// symmetric piece, it was not turned over. usual is what an edge may be off by.
func align(ref samples, outline geometry.Path, usual float64) fit {
	ring := outline.Flatten(0.02)
	if r := ring.Length() / ref.length; r < 1/mostScale || r > mostScale {
		return fit{cost: math.Inf(1)}
	}
	straight, turned := alignSide(ref, ring, usual), alignSide(ref, over(ring), usual)
	turned.mirrored = true
	if turned.cost < math.Inf(1) && turned.off < 0.9*straight.off-0.01 {
		return turned
	}
	return straight
}

// over returns a ring seen from the other side, running as before.
func over(ring geometry.Polyline) geometry.Polyline {
	out := ring.Map(func(p geometry.Point) geometry.Point { return geometry.Point{X: -p.X, Y: p.Y} })
	slices.Reverse(out)
	return out
}

func alignSide(ref samples, ring geometry.Polyline, usual float64) fit {
	const turns, coarse, keep = 16, 60, 2
	few := ref.thin(coarse)
	rough := thinned(ring, 3)
	mid := middle(rough)
	var starts []fit
	for i := range turns {
		t := pose{turn: 2 * math.Pi * float64(i) / turns, scale: 1}
		t.move = mid.Sub(geometry.Point(t.linear(geometry.Vec(ref.centre))))
		t = steps(few, rough, t, 8, false, nearly)
		starts = append(starts, fit{pose: t, cost: spread(distances(few, rough, t), 0.9)})
	}
	slices.SortFunc(starts, func(a, b fit) int { return cmp.Compare(a.cost, b.cost) })
	best := fit{ring: ring, off: math.Inf(1)}
	within := bounded(usual)
	for _, f := range starts[:keep] {
		// What is off along one edge must not pass for a scale, nor a scale for edges that are off:
		// both are tried, and what explains more of the line is believed.
		t := steps(few, rough, f.pose, 8, false, nearly)
		t = steps(ref, ring, t, 6, false, nearly)
		same := steps(ref, ring, steps(ref, ring, t, 6, false, within), 8, true, within)
		scaled := steps(ref, ring, steps(ref, ring, t, 8, true, nearly), 8, true, within)
		for _, t := range []pose{same, scaled} {
			d := distances(ref, ring, t)
			if off := share(d, usual); off < best.off {
				best = fit{ring: ring, pose: t, off: off, cost: spread(d, 0.9)}
			}
		}
	}
	return best
}

// share returns what part of a line is off, from 0 to 1: a place counts the more the
// farther off it is, and fully beyond a few times the usual.
func share(d []float64, usual float64) float64 {
	sum := 0.0
	for _, x := range d {
		sum += x * x / (x*x + usual*usual)
	}
	return sum / float64(len(d))
}

// weigh returns the weights of places by their distances.
type weigh func(d []float64) func(float64) float64

// nearly weighs so that the sum of distances becomes least.
func nearly(d []float64) func(float64) float64 {
	least := math.Max(0.05, spread(d, 0.5)/4)
	return func(x float64) float64 { return 1 / math.Max(math.Abs(x), least) }
}

// bounded weighs so that the share that is off becomes least (Geman and McClure's
// function).
func bounded(usual float64) weigh {
	return func([]float64) func(float64) float64 {
		return func(x float64) float64 {
			u := 1 / (1 + x*x/(usual*usual))
			return u * u
		}
	}
}

func steps(ref samples, ring geometry.Polyline, t pose, n int, free bool, by weigh) pose {
	for range n {
		t = step(ref, ring, t, free, by)
	}
	return t
}

// middle returns the mean of a ring by length.
func middle(ring geometry.Polyline) geometry.Point {
	var sum geometry.Vec
	total := 0.0
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		l := a.Dist(b)
		sum, total = sum.Add(geometry.Vec(a.Lerp(b, 0.5)).Scale(l)), total+l
	}
	return geometry.Point(sum.Scale(1 / total))
}

// thinned returns a ring with points at least a distance apart.
func thinned(ring geometry.Polyline, apart float64) geometry.Polyline {
	out := geometry.Polyline{ring[0]}
	for i, p := range ring[1:] {
		if next := ring[(i+2)%len(ring)]; p.Dist(out[len(out)-1]) >= apart || next.Dist(out[len(out)-1]) >= 2*apart {
			out = append(out, p)
		}
	}
	return out
}

// spread returns a quantile of the sizes of distances.
func spread(d []float64, q float64) float64 {
	size := make([]float64, len(d))
	for i, x := range d {
		size[i] = math.Abs(x)
	}
	return quantile(size, q)
}

// step moves a pose by one round of robust least squares on the distances along normals;
// with the scale free or not.
func step(ref samples, ring geometry.Polyline, t pose, free bool, by weigh) pose {
	d := distances(ref, ring, t)
	weight := by(d)
	n := 3
	if free {
		n = 4
	}
	at := t.apply(ref.centre)
	normal, right := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for i, s := range ref.list {
		w := weight(d[i])
		out := t.linear(s.normal).Unit()
		r := t.apply(s.at).Sub(at)
		row := []float64{out.X, out.Y, out.Dot(r.Perp()), out.Dot(r)}
		for a := range n {
			right.SetVec(a, right.AtVec(a)+w*row[a]*d[i])
			for b := a; b < n; b++ {
				normal.SetSym(a, b, normal.At(a, b)+w*row[a]*row[b])
			}
		}
	}
	for a := range n { // keeps a circle, whose turn nothing shows, from turning
		normal.SetSym(a, a, normal.At(a, a)*(1+1e-9)+1e-9)
	}
	var x mat.VecDense
	if x.SolveVec(normal, right) != nil {
		return t
	}
	limit := func(v, most float64) float64 { return math.Min(math.Max(v, -most), most) }
	t.turn += limit(x.AtVec(2), 0.3)
	if free {
		t.scale = math.Min(math.Max(t.scale*(1+limit(x.AtVec(3), 0.05)), 1/mostScale), mostScale)
	}
	to := at.Add(geometry.Vec{X: x.AtVec(0), Y: x.AtVec(1)})
	t.move = to.Sub(geometry.Point(t.linear(geometry.Vec(ref.centre))))
	return t
}

// distances returns how far the ring lies outside the stored line at each sample, along
// its normal.
func distances(ref samples, ring geometry.Polyline, t pose) []float64 {
	out := make([]float64, len(ref.list))
	grid := newGrid(ring)
	for i, s := range ref.list {
		p := t.apply(s.at)
		out[i] = grid.nearest(p).Sub(p).Dot(t.linear(s.normal).Unit())
	}
	return out
}

// laidBack returns the ring in the frame of the stored line.
func laidBack(ring geometry.Polyline, t pose) geometry.Polyline {
	r := geometry.Rigid{Turn: t.turn, Move: geometry.Point(t.move)}
	return ring.Map(r.Inverse().Apply)
}
