package twin

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"secondcut/geometry"
)

const (
	// cutMM is how far the edges of twins may differ though nothing is worn, as a
	// standard deviation: how alike two pieces are cut by hand (judgement, no source).
	cutMM = 0.5
	// biweight is Tukey's constant for 95 % efficiency (Holland and Welsch 1977).
	biweight = 4.685
	starts   = 3
	fits     = 1.0  // a misfit below is as good as can be
	stillMM  = 1e-3 // a step below ends the search
	rounds   = 40
	firmly   = 15 // the round from which the biweight counts
)

// poseOf returns the rigid map that lays ring a on ring b; both are given coarsely, to
// look for it, and finely.
func poseOf(coarseA, coarseB, a, b ring) geometry.Rigid {
	pose := settle(a, b, align(coarseA, coarseB), true)
	pose.Turn = math.Remainder(pose.Turn, 2*math.Pi)
	return pose
}

// align returns the rigid map that lays ring a on ring b so that the mean squared
// distance in units of what may be expected, each counted as 9 at most, is least: parts
// that do not fit do not pull. It is looked for from several starts, since an edge that
// is worn all along fits as well when all the rest is moved.
func align(a, b ring) geometry.Rigid {
	var best geometry.Rigid
	least := math.Inf(1)
	try := func(from geometry.Rigid, sure bool) {
		pose := settle(a, b, from, sure)
		// A rectangle fits in more than one way; pieces lie with the grain upright.
		if c := misfit(a, b, pose) * (1 + math.Abs(math.Remainder(pose.Turn, 2*math.Pi))); c < least {
			best, least = pose, c
		}
	}
	for _, first := range begin(a, b) {
		if try(first, false); least < fits {
			return best
		}
	}
	if off := outlying(a, b, best); off > 0 {
		from := best
		for _, way := range []geometry.Vec{{X: off}, {X: -off}, {Y: off}, {Y: -off}} {
			try(from.Then(geometry.Rigid{Move: geometry.Point(way)}), true)
		}
	}
	return best
}

// outlying returns the median distance in mm of the points that do not fit, 0 where
// there are few.
func outlying(a, b ring, pose geometry.Rigid) float64 {
	var off []float64
	for _, d := range distances(a, b, pose) {
		if d.mm > 3*d.sd {
			off = append(off, d.mm)
		}
	}
	if len(off) < len(a.at)/20 {
		return 0
	}
	return median(off)
}

// begin returns the best few rigid maps that take the points of a to those of b in
// turn, by where on b the first one goes (closed form of the least squares in the plane).
func begin(a, b ring) []geometry.Rigid {
	ca, cb := centre(a.at), centre(b.at)
	n := min(len(a.at), len(b.at))
	type start struct {
		shift int
		fit   float64
		pose  geometry.Rigid
	}
	var all []start
	const step = 4
	for shift := 0; shift < n; shift += step {
		var dot, cross float64
		for i := 0; i < n; i += step {
			p, q := a.at[i].Sub(ca), b.at[(i+shift)%n].Sub(cb)
			dot += p.Dot(q)
			cross += p.Cross(q)
		}
		turn := geometry.Rigid{Turn: math.Atan2(cross, dot)}
		turn.Move = geometry.Point(cb.Sub(turn.Apply(ca)))
		all = append(all, start{shift, math.Hypot(dot, cross), turn})
	}
	slices.SortStableFunc(all, func(p, q start) int {
		switch {
		case p.fit > q.fit:
			return -1
		case p.fit < q.fit:
			return 1
		}
		return 0
	})
	var out []geometry.Rigid
	var taken []int
	for _, s := range all {
		near := slices.ContainsFunc(taken, func(t int) bool {
			d := (s.shift - t + n) % n
			return min(d, n-d) < n/16
		})
		if !near {
			taken, out = append(taken, s.shift), append(out, s.pose)
		}
		if len(out) == starts {
			break
		}
	}
	return out
}

func centre(ring []geometry.Point) geometry.Point {
	var sum geometry.Vec
	for _, q := range ring {
		sum = sum.Add(geometry.Vec(q))
	}
	return geometry.Point(sum.Scale(1 / float64(max(len(ring), 1))))
}

// expected is the standard deviation that the distance of two stretches may have.
func expected(doubtA, doubtB float64) float64 {
	return math.Sqrt(math.Pow(doubtA/1.96, 2) + math.Pow(doubtB/1.96, 2) + cutMM*cutMM)
}

// settle improves a map by steps of Gauss and Newton over distances along the normals,
// weighted by how sure both stretches are: first with least absolute distances, which
// have one minimum and follow the greater part, then by Tukey's biweight, which grows
// narrower until what is worn weighs nothing. It begins with the latter, narrow, where the
// map is one that most of a part is known to fit.
func settle(a, b ring, pose geometry.Rigid, sure bool) geometry.Rigid {
	n := len(a.at)
	hints := make([]int, n)
	for i := range hints {
		hints[i] = -1
	}
	off, sd, size := make([]float64, n), make([]float64, n), make([]float64, n)
	feet, mid := make([]foot, n), centre(b.at)
	narrow := 0.0 // width of the biweight in standard deviations
	first := 0
	if sure {
		first = firmly + 1
	}
	for round := first; round < rounds; round++ {
		for i, p := range a.at {
			q := pose.Apply(p)
			f := b.nearest(q, hints[i])
			hints[i], feet[i] = f.index, f
			off[i], sd[i] = f.normal.Dot(q.Sub(f.at)), expected(a.doubt[i], f.doubt)
			size[i] = math.Abs(off[i]) / sd[i]
		}
		if round == firmly {
			narrow = biweight * math.Max(1, 2*median(size))
		}
		narrow = math.Max(biweight, 0.8*narrow)
		normal, right := mat.NewSymDense(3, nil), mat.NewVecDense(3, nil)
		for i, p := range a.at {
			w := 1 / math.Max(size[i], 1)
			if round >= firmly {
				w = math.Pow(math.Max(1-math.Pow(size[i]/narrow, 2), 0), 2)
			}
			w /= sd[i] * sd[i]
			arm := pose.Apply(p).Sub(mid)
			row := [3]float64{feet[i].normal.X, feet[i].normal.Y, arm.Cross(feet[i].normal)}
			for r := range 3 {
				right.SetVec(r, right.AtVec(r)-w*row[r]*off[i])
				for c := r; c < 3; c++ {
					normal.SetSym(r, c, normal.At(r, c)+w*row[r]*row[c])
				}
			}
		}
		normal.SetSym(2, 2, normal.At(2, 2)+1e-3) // a circle may turn as it likes
		var chol mat.Cholesky
		var step mat.VecDense
		if !chol.Factorize(normal) || chol.SolveVecTo(&step, right) != nil {
			return pose
		}
		pose = pose.Then(about(mid, step.AtVec(2), geometry.Vec{X: step.AtVec(0), Y: step.AtVec(1)}))
		still := math.Hypot(step.AtVec(0), step.AtVec(1)) < stillMM && math.Abs(step.AtVec(2)) < stillMM/1000
		switch {
		case still && narrow == biweight:
			return pose
		case still && round < firmly:
			round = firmly - 1
		}
	}
	return pose
}

// about returns a turn about a point followed by a move.
func about(c geometry.Point, turn float64, move geometry.Vec) geometry.Rigid {
	r := geometry.Rigid{Turn: turn}
	r.Move = geometry.Point(c.Sub(r.Apply(c)).Add(move))
	return r
}

// distance is how far a point lies from a ring, in mm, and its standard deviation.
type distance struct{ mm, sd float64 }

// distances returns the distance of each point of ring a, laid on ring b.
func distances(a, b ring, pose geometry.Rigid) []distance {
	out := make([]distance, len(a.at))
	hint := -1
	for i, p := range a.at {
		q := pose.Apply(p)
		f := b.nearest(q, hint)
		if q.Dist(f.at) > 10 { // the way may have jumped
			f = b.nearest(q, -1)
		}
		hint = f.index
		out[i] = distance{q.Dist(f.at), expected(a.doubt[i], f.doubt)}
	}
	return out
}

// misfit is what align makes least.
func misfit(a, b ring, pose geometry.Rigid) float64 {
	var sum float64
	for _, d := range distances(a, b, pose) {
		sum += math.Min(math.Pow(d.mm/d.sd, 2), 9)
	}
	return sum / float64(len(a.at))
}

// median returns the median of values that are not changed.
func median(of []float64) float64 {
	v := slices.Clone(of)
	slices.Sort(v)
	return v[len(v)/2]
}
