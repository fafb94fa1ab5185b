package fit

import (
	"math"
	"slices"

	"secondcut/geometry"
)

// excursion is a narrow place where the edge leaves its course and comes back to
// it: a thread or fold that sticks out, a nick, notch or tear that cuts in.
type excursion struct {
	from, to int            // last good point before it and first good one after it
	at       geometry.Point // its middle on the bridge
	depth    float64        // greatest distance from the bridge, mm
	width    float64        // of its mouth, mm
	inward   bool
	lean     float64 // how far its deepest point lies from the middle of its mouth, as a share of the mouth: 0 to 0.5 and more
	noise    float64 // of the edge beside it, rms, mm
}

// Sizes of excursions, mm. A V notch is 3 to 6 mm deep; a torn nick may be 10 mm
// wide. Wider or shallower ones are left to the robust weights of the spans.
const (
	mouthMM   = 13.0 // widest mouth
	detourMM  = 1.5  // least extra length of the way round
	armMM     = 8.0  // stretch on either side that must run on straight across
	longestMM = 45.0 // longest way round: a thread of 20 mm out and back

	spikeMouthMM  = 1.7
	spikeDetourMM = 2.4
)

// spikes finds threads: the edge runs out and comes back to where it was. They
// are looked for first and without regard to what lies beside them, since a
// frayed edge has a thread every few millimetres. The tip of a very sharp corner
// may be among them, which does no harm: a corner is found from its sides.
func (r *ring) spikes() []excursion {
	n := r.n()
	cum := make([]float64, 2*n+1)
	for i := range 2 * n {
		cum[i+1] = cum[i] + r.p[i%n].Dist(r.p[(i+1)%n])
	}
	step := cum[n] / float64(n)
	mouth, detour := spikeMouthMM*r.unit, spikeDetourMM*r.unit
	reach := min(int(longestMM*r.unit/step), n/3)
	var found []excursion
	for i := range n {
		for j := i + 2; j < i+reach; j++ {
			d := r.p[i].Dist(r.p[j%n])
			if d > mouth || cum[j]-cum[i]-d < detour {
				continue
			}
			if e, ok := r.excursion(i, j, 0); ok && !e.inward && e.depth > 1.2*r.unit {
				found = append(found, e)
			}
		}
	}
	return r.choose(found)
}

// excursions finds them, deepest for their width first, none overlapping.
func (r *ring) excursions() []excursion {
	n := r.n()
	q := smoothRing(r.p, 1)
	cum := make([]float64, 2*n+1)
	for i := range 2 * n {
		cum[i+1] = cum[i] + q[i%n].Dist(q[(i+1)%n])
	}
	step := cum[n] / float64(n)
	arm := max(3, int(armMM*r.unit/step))
	if n < 6*arm {
		return nil
	}
	ones := make([]float64, n)
	for i := range ones {
		ones[i] = 1
	}
	sm := newSums(r.p, ones)
	left, right := make([]chord, n), make([]chord, n)
	for i := range n {
		left[i], _ = sm.line(r.p, i-arm, i+1)
		right[i], _ = sm.line(r.p, i, i+arm+1)
	}
	mouth, detour := mouthMM*r.unit, detourMM*r.unit
	reach := min(int(longestMM*r.unit/step), n/3)
	var found []excursion
	for i := 0; i < n; i += 2 {
		for k := 4; k < reach; k += 2 {
			j := i + k
			extra := cum[j] - cum[i]
			d := q[i].Dist(q[j%n])
			if d > mouth || extra < 1.2*d || extra-d < detour || !runsOn(left[i], right[j%n], q[j%n].Sub(q[i]), d, r.unit) {
				continue
			}
			if e, ok := r.excursion(i, j, math.Max(left[i].rms, right[j%n].rms)); ok {
				found = append(found, e)
			}
		}
	}
	return r.choose(found)
}

// runsOn reports whether the edge after a gap is the straight continuation of
// the edge before it. v leads across the gap, whose width is d.
func runsOn(a, b chord, v geometry.Vec, d, unit float64) bool {
	aside := 0.7*unit + 0.35*d
	return a.dir.Dot(b.dir) > 0.927 && // 22 degrees
		a.dir.Dot(v) > -0.5*unit &&
		math.Abs(a.dir.Cross(v)) < aside && math.Abs(b.dir.Cross(v)) < aside
}

// excursion measures the detour from point i to point j. ok is false when it is
// too shallow to stand out from the noise of the edge beside it.
func (r *ring) excursion(i, j int, noise float64) (e excursion, ok bool) {
	n := r.n()
	a, b := r.p[i], r.p[j%n]
	v := b.Sub(a)
	width := v.Len()
	dir := v.Unit()
	e = excursion{from: i, to: j, at: a.Lerp(b, 0.5), width: width}
	var deep, along float64
	for k := i + 1; k < j; k++ {
		off := dir.Cross(r.p[k%n].Sub(a)) // positive: to the left, into the cloth
		if math.Abs(off) > math.Abs(deep) {
			deep = off
			along = dir.Dot(r.p[k%n].Sub(a)) / math.Max(width, 1e-9)
		}
	}
	e.depth, e.inward = math.Abs(deep), deep > 0
	e.lean, e.noise = math.Abs(along-0.5), noise
	least := 1.5 * r.unit
	if !e.inward {
		least = 1.0 * r.unit
	}
	return e, e.depth > math.Max(least, 4*noise)
}

// choose keeps the best of the overlapping ones: deep, with a narrow mouth. A
// wider cut through the same sides of a V is worth more than a narrower one.
func (r *ring) choose(found []excursion) []excursion {
	worth := func(e excursion) float64 { return e.depth / (e.width + 8*r.unit) }
	slices.SortFunc(found, func(a, b excursion) int {
		switch d := worth(b) - worth(a); {
		case d > 0:
			return 1
		case d < 0:
			return -1
		}
		return a.from - b.from
	})
	taken := make([]bool, r.n())
	var out []excursion
next:
	for _, e := range found {
		for k := e.from; k <= e.to; k++ {
			if taken[r.wrap(k)] {
				continue next
			}
		}
		for k := e.from; k <= e.to; k++ {
			taken[r.wrap(k)] = true
		}
		out = append(out, e)
	}
	return out
}

// bridge replaces the excursions by even points of weight 0 on a straight line.
func (r *ring) bridge(list []excursion) *ring {
	if len(list) == 0 {
		return r
	}
	n := r.n()
	var step float64
	for i := range n {
		step += r.p[i].Dist(r.p[(i+1)%n])
	}
	step /= float64(n)
	start := make(map[int]int, len(list)) // first replaced point -> excursion
	inside := make([]bool, n)
	for k, e := range list {
		start[r.wrap(e.from+1)] = k
		for i := e.from + 1; i < e.to; i++ {
			inside[r.wrap(i)] = true
		}
	}
	out := &ring{unit: r.unit}
	for i := range n {
		if k, ok := start[i]; ok {
			e := list[k]
			a, b := r.p[r.wrap(e.from)], r.p[r.wrap(e.to)]
			m := int(math.Round(e.width / step))
			for j := 1; j < m; j++ {
				out.add(a.Lerp(b, float64(j)/float64(m)), 0, r.sigma[r.wrap(e.from)], r.bias[r.wrap(e.from)])
			}
		}
		if !inside[i] {
			out.add(r.p[i], r.w[i], r.sigma[i], r.bias[i])
		}
	}
	out.measure()
	return out
}
