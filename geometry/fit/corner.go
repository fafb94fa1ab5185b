package fit

import (
	"math"
	"slices"

	"secondcut/geometry"
)

// corner is a place where the clean edge turns sharply.
type corner struct {
	at   geometry.Point
	s    float64      // arc length on the ring
	turn float64      // radians, left turns positive
	in   geometry.Vec // unit directions of the edge before and after it
	out  geometry.Vec
}

// bend is a place found to be a soft corner, and how far on either side of it
// doubtful corners belong to it.
type bend struct{ s, reach float64 }

// Lengths of corner finding, mm, and angles. Tuned on synthetic pieces with
// corners of 20 to 150 degrees, soft ones of 10 to 40 mm radius, clean to
// heavily frayed.
const (
	leastTurn  = 16 * math.Pi / 180 // below this a join is smooth
	bluntTurn  = 40 * math.Pi / 180 // below this a bend may look like a corner
	scanTurn   = 12 * math.Pi / 180 // candidates for a closer look
	nearGapMM  = 1.0                // left out on either side of a corner
	farGapMM   = 7.0                // beyond what a soft corner rounds off
	softMM     = 4.5                // radius from which a corner is a curve
	longArmMM  = 40.0
	shortArmMM = 9.0
)

// corners finds the true corners in the order of the ring.
func (r *ring) corners(nz noise) []corner {
	n := r.n()
	w := make([]float64, n)
	for i := range w {
		w[i] = r.w[i]*math.Max(bisquare(nz.res[i], 1.5*nz.local[i]), 0.02) + 1e-6
	}
	cand := r.candidates(newSums(r.p, w), nz)
	var out []corner
	var bends []bend
	for _, c := range cand {
		if k, ok := r.examine(c, out, nz, &bends); ok {
			out = append(out, k)
		}
	}
	// Look again: now each knows its neighbours, which bound its arms.
	for round := range 2 {
		var kept []corner
		for i, c := range out {
			others := append(append([]corner{}, kept...), out[i+1:]...)
			if k, ok := r.examine(c.s, others, nz, &bends); ok {
				kept = append(kept, k)
			}
		}
		out = kept
		if round == 0 {
			for _, c := range cand {
				if r.clear(c, out, 6*r.unit) {
					if k, ok := r.examine(c, out, nz, &bends); ok {
						out = append(out, k)
					}
				}
			}
		}
	}
	slices.SortFunc(out, func(a, b corner) int {
		if a.s < b.s {
			return -1
		}
		return 1
	})
	return out
}

// clear reports whether s is further than d from all corners.
func (r *ring) clear(s float64, list []corner, d float64) bool {
	for _, c := range list {
		if math.Abs(r.apart(s, c.s)) < d {
			return false
		}
	}
	return true
}

// apart returns the way from a to b along the ring, the short way round.
func (r *ring) apart(a, b float64) float64 {
	return math.Remainder(b-a, r.total)
}

// candidates returns arc lengths where the ring turns noticeably within 12 or
// 25 mm, strongest first.
func (r *ring) candidates(sm *sums, nz noise) []float64 {
	n := r.n()
	step := r.total / float64(n)
	type peak struct{ s, turn float64 }
	var peaks []peak
	for _, arm := range []float64{5, 12, 25} {
		m := max(3, int(arm*r.unit/step))
		if n < 3*m {
			continue
		}
		t := make([]float64, n)
		for i := range n {
			a, ok1 := sm.line(r.p, i-m, i+1)
			b, ok2 := sm.line(r.p, i, i+m+1)
			if ok1 && ok2 {
				t[i] = math.Abs(turn(a.dir, b.dir))
			}
		}
		// The slope of a line over the arm has this standard error.
		se := 3.5 * nz.local[0] * math.Sqrt(nz.tau/(arm*r.unit)) / (arm * r.unit)
		least := math.Max(scanTurn, 1.5*se)
		apart := max(2, m/2)
		for i := range n {
			if t[i] < least {
				continue
			}
			top := true
			for k := 1; k <= apart && top; k++ {
				top = t[i] >= t[r.wrap(i+k)] && t[i] > t[r.wrap(i-k)]
			}
			if top {
				peaks = append(peaks, peak{r.s[i], t[i]})
			}
		}
	}
	slices.SortFunc(peaks, func(a, b peak) int {
		if a.turn > b.turn {
			return -1
		}
		return 1
	})
	var out []float64
	for _, p := range peaks {
		if !slices.ContainsFunc(out, func(s float64) bool { return math.Abs(r.apart(s, p.s)) < 3*r.unit }) {
			out = append(out, p.s)
		}
	}
	return out
}

// examine tests the place s for a corner, given the other corners.
func (r *ring) examine(s float64, others []corner, nz noise, bends *[]bend) (corner, bool) {
	if !r.clear(s, others, 3*r.unit) {
		return corner{}, false
	}
	sides := [2]level{r.side(nz, s, -45*r.unit, -5*r.unit), r.side(nz, s, 5*r.unit, 45*r.unit)}
	lv := level{math.Max(sides[0].sd, sides[1].sd), nz.tau}
	gap := nearGapMM*r.unit + math.Min(2*lv.sd, 3*r.unit)
	near, ok := r.meet(s, gap, others, sides, longArmMM)
	for range 3 {
		if !ok || math.Abs(r.apart(s, near.s)) > 15*r.unit {
			return corner{}, false
		}
		again, ok2 := r.meet(near.s, gap, others, sides, longArmMM)
		if !ok2 {
			return corner{}, false
		}
		done := math.Abs(r.apart(again.s, near.s)) < 0.3*r.unit
		near = again
		if done {
			break
		}
	}
	if math.Abs(near.turn) < math.Max(leastTurn, 3*near.se) || near.miss > r.tipMiss(math.Abs(near.turn)-2*near.se)+4*lv.sd || !r.clear(near.s, others, 3*r.unit) {
		return corner{}, false
	}
	if math.Abs(near.turn) < bluntTurn && (near.left.c != 0 || near.right.c != 0) {
		// Where a line runs smoothly into a tight bend, long arms see a corner that
		// short ones don't.
		short, ok := r.meet(near.s, gap, others, sides, 14)
		if ok && math.Abs(short.turn)+short.se < leastTurn && 2*short.se < math.Abs(near.turn)-math.Abs(short.turn) {
			return corner{}, false
		}
	}
	if near.se > leastTurn/7 && slices.ContainsFunc(*bends, func(b bend) bool { return math.Abs(r.apart(b.s, near.s)) < b.reach }) {
		return corner{}, false // the entry or exit of a soft corner
	}
	if far, ok := r.meet(near.s, farGapMM*r.unit, others, sides, longArmMM); ok && r.soft(far, lv) {
		// What cuts the corner may be a bend of its sides that the arms missed:
		// not so if they turn less close by or meet off the edge. A turn that no
		// rounding of that radius leaves within the gap is a corner: there the far
		// arms ran over the next one.
		tip := softMM*r.unit*(1/math.Cos(near.turn/2)-1) + 0.15*r.unit + lv.sd
		sharp := math.Abs(near.turn)-2*near.se > bluntTurn && gap < 2.5*r.unit
		if !sharp && math.Abs(near.turn) < 0.75*math.Abs(far.turn) || near.miss > tip {
			*bends = append(*bends, bend{far.s, 20 * r.unit})
			return corner{}, false
		}
	}
	return near.corner, true
}

// tipMiss returns how far a corner that surely turns by so much, in radians, may lie
// off the ring, mm: where it is sharp, its tip has been shorn like a thread.
func (r *ring) tipMiss(turn float64) float64 {
	return r.unit * math.Max(3, 1+spikeMouthMM/2*math.Tan(math.Max(0, math.Min(turn, 2.9))/2))
}

// side returns the noise of one side of a supposed corner: a clean edge may meet
// a frayed one.
func (r *ring) side(nz noise, s, from, to float64) level {
	i, j := r.index(s+from), r.index(s+to)
	var v []float64
	for k := i; k < j; k++ {
		v = append(v, nz.res[r.wrap(k)])
	}
	sd := scale(v) * nz.grow
	// A corner hides the waves near it.
	for _, f := range []float64{-0.5, 0, 0.5, 1, 1.5} {
		sd = math.Max(sd, nz.waves[r.wrap(i+int(f*float64(j-i)))])
	}
	return level{math.Max(sd, 0.02*r.unit), nz.tau}
}

// meeting is the intersection of the two neighbours of a supposed corner.
type meeting struct {
	corner
	left, right parabola
	se          float64 // standard error of the turn, radians
	miss        float64 // distance from the nearest point of the ring, mm
}

// meet fits both sides of the place s, leaving out gap on either side, and
// intersects them.
func (r *ring) meet(s, gap float64, others []corner, sides [2]level, reach float64) (m meeting, ok bool) {
	back, ahead := reach*r.unit+gap, reach*r.unit+gap
	limit := 0.45 * r.total
	for _, c := range others {
		if d := r.apart(s, c.s); d > 0 {
			ahead = math.Min(ahead, d-gap*0.7)
		} else {
			back = math.Min(back, -d-gap*0.7)
		}
	}
	back, ahead = math.Min(back, limit), math.Min(ahead, limit)
	left, ok1 := r.arm(s, -gap, -back, sides[0])
	right, ok2 := r.arm(s, gap, ahead, sides[1])
	if !ok1 || !ok2 {
		return m, false
	}
	m.left, m.right = left, right
	x := r.p[r.wrap(r.index(s))]
	var ta, tb geometry.Vec
	for range 6 {
		var a, b geometry.Point
		a, ta = left.tangent(x)
		b, tb = right.tangent(x)
		den := ta.Cross(tb)
		if math.Abs(den) < 0.05 {
			x = a.Lerp(b, 0.5)
			continue
		}
		x = a.Add(ta.Scale(b.Sub(a).Cross(tb) / den))
	}
	m.at, m.turn, m.in, m.out = x, turn(ta, tb), ta, tb
	m.se = math.Hypot(left.slopeErr, right.slopeErr)
	i0, i1 := r.index(s-15*r.unit), r.index(s+15*r.unit)
	m.miss = math.Inf(1)
	for i := i0; i <= i1; i++ {
		if d := x.Dist(r.p[r.wrap(i)]); d < m.miss {
			m.miss, m.s = d, r.s[r.wrap(i)]
		}
	}
	return m, x.IsFinite()
}

// soft reports whether the edge between the two arms cuts the corner so much
// that it is a curve: the area between it and the sharp corner is that of a
// rounding with a radius over softMM, beyond the noise.
func (r *ring) soft(m meeting, lv level) bool {
	th := math.Abs(m.turn)
	if th < leastTurn || th > 2.9 {
		return false
	}
	zone := 12 * r.unit
	i0, i1 := r.index(m.s-zone), r.index(m.s+zone)
	o := m.at
	prev := m.left.foot(r.p[r.wrap(i0)]).Sub(o)
	var area float64
	for i := i0 + 1; i <= i1; i++ {
		q := r.p[r.wrap(i)].Sub(o)
		if i == i1 {
			q = m.right.foot(r.p[r.wrap(i)]).Sub(o)
		}
		area += prev.Cross(q) / 2
		prev = q
	}
	// The way back runs through the corner, the origin, and adds no area.
	if m.turn > 0 {
		area = -area
	}
	// Fray rounds corners, too.
	radius := softMM*r.unit + 4*lv.sd
	return area-2*lv.sd*math.Sqrt(2*zone*lv.tau) > radius*radius*(math.Tan(th/2)-th/2)
}
