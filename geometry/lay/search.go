package lay

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"secondcut/geometry"
)

// place is where one item lies: its shape and the position of its origin.
type place struct {
	shape int
	at    geometry.Point
}

// layout is the state of a search: all items on a strip, perhaps overlapping.
type layout struct {
	length float64
	places []place
}

func (l layout) clone() layout {
	return layout{l.length, append([]place(nil), l.places...)}
}

// searcher looks for better places of single items. One goroutine uses it.
type searcher struct {
	*table
	layout
	dice *rand.Rand
	// shortest is its best layout without overlap, rounds how many were moved, ended
	// whether it is time to stop.
	shortest layout
	rounds   int
	ended    func() bool
	// row holds all items from left to right, so that a search looks only at those
	// near it; reach is the most that the middles of two shapes that touch are apart
	// along the strip.
	row   []standing
	reach float64
	// weights[i*len(items)+j] is what an overlap of two items counts, keptWeights
	// one with an obstacle.
	weights, keptWeights []float64
	// overlaps are those of all pairs, and of items with obstacles, when overlap was
	// last asked for them.
	overlaps []float64
}

func newSearcher(t *table, l layout, seed uint64) *searcher {
	s := &searcher{table: t, shortest: l.clone(), dice: rand.New(rand.NewPCG(seed, 0x1a9))}
	for _, r := range t.regions {
		s.reach = max(s.reach, (r.hiX-r.loX)/2)
	}
	s.start(l)
	s.resetWeights()
	return s
}

// standing is where an item lies, with the middle of its extent along the strip.
type standing struct {
	place
	middle float64
	item   int
}

// start takes over a layout.
func (s *searcher) start(l layout) {
	s.length, s.places = l.length, append(s.places[:0], l.places...)
	s.row = s.row[:0]
	for i, p := range s.places {
		s.row = append(s.row, s.standing(i, p))
	}
	slices.SortFunc(s.row, func(a, b standing) int { return cmp.Compare(a.middle, b.middle) })
}

func (s *searcher) standing(i int, p place) standing {
	sh := &s.shapes[p.shape]
	return standing{p, p.at.X + (sh.lo.X+sh.hi.X)/2, i}
}

// put moves an item.
func (s *searcher) put(i int, p place) {
	s.places[i] = p
	at := slices.IndexFunc(s.row, func(q standing) bool { return q.item == i })
	s.row[at] = s.standing(i, p)
	for ; at > 0 && s.row[at].middle < s.row[at-1].middle; at-- {
		s.row[at], s.row[at-1] = s.row[at-1], s.row[at]
	}
	for ; at+1 < len(s.row) && s.row[at].middle > s.row[at+1].middle; at++ {
		s.row[at], s.row[at+1] = s.row[at+1], s.row[at]
	}
}

func (s *searcher) resetWeights() {
	s.weights = ones(len(s.items) * len(s.items))
	s.keptWeights = ones(len(s.items) * len(s.kept))
}

func ones(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = 1
	}
	return out
}

// cost returns the weighted overlap of item i at a place with all others, or
// something of at least bound as soon as it is known to reach that.
func (s *searcher) cost(i int, p place, bound float64) float64 {
	n := len(s.shapes)
	sum := 0.0
	middle := p.at.X + (s.shapes[p.shape].lo.X+s.shapes[p.shape].hi.X)/2
	for k := s.firstFrom(middle - s.reach); k < len(s.row); k++ {
		q := &s.row[k]
		if q.middle > middle+s.reach {
			break
		}
		r := &s.regions[q.shape*n+p.shape]
		dx, dy := p.at.X-q.at.X, p.at.Y-q.at.Y
		if dx <= r.loX || dx >= r.hiX || dy <= r.loY || dy >= r.hiY || q.item == i {
			continue
		}
		if d := r.depth(dx, dy); d > 0 {
			if sum += d * s.scale[q.shape*n+p.shape] * s.weights[i*len(s.items)+q.item]; sum >= bound {
				return sum
			}
		}
	}
	for k, o := range s.kept {
		if d := s.region(o, p.shape).depth(p.at.X, p.at.Y); d > 0 {
			if sum += d * s.scale[o*n+p.shape] * s.keptWeights[i*len(s.kept)+k]; sum >= bound {
				return sum
			}
		}
	}
	return sum
}

// firstFrom returns where in the row the items begin whose middle is at x or beyond.
func (s *searcher) firstFrom(x float64) int {
	lo, hi := 0, len(s.row)
	for lo < hi {
		if at := (lo + hi) / 2; s.row[at].middle < x {
			lo = at + 1
		} else {
			hi = at
		}
	}
	return lo
}

// How many samples a search takes: judged on the two published instances of
// testdata; half or twice as many make little difference.
const (
	wideSamples = 40
	nearSamples = 20
	descents    = 3
)

// candidate is a place with its cost.
type candidate struct {
	place
	cost float64
}

// best keeps the cheapest few candidates, cheapest first.
type best []candidate

// bound is the cost from which a candidate is of no interest.
func (b best) bound() float64 {
	if len(b) < cap(b) {
		return math.Inf(1)
	}
	return b[len(b)-1].cost
}

func (b *best) add(c candidate) {
	if c.cost >= b.bound() {
		return
	}
	if len(*b) < cap(*b) {
		*b = append(*b, c)
	} else {
		(*b)[len(*b)-1] = c
	}
	for i := len(*b) - 1; i > 0 && (*b)[i].cost < (*b)[i-1].cost; i-- {
		(*b)[i], (*b)[i-1] = (*b)[i-1], (*b)[i]
	}
}

// move looks for the cheapest place of item i: samples over the whole strip and
// round the present place, then descents from the best of them. The item is
// moved if that is no worse than where it lies.
func (s *searcher) move(i int) {
	now := s.places[i]
	found := make(best, 0, descents)
	found.add(candidate{now, s.cost(i, now, math.Inf(1))})
	for _, sh := range s.items[i].shapes {
		lo, hi := s.room(sh, s.length)
		if hi.X < lo.X || hi.Y < lo.Y {
			continue
		}
		per := func(n int) int { return max(4, n/len(s.items[i].shapes)) }
		for range per(wideSamples) {
			s.try(i, &found, place{sh, s.shapes[sh].snapped(s.within(lo, hi))})
		}
		size := s.shapes[sh].size
		nearLo := geometry.Point{X: max(lo.X, min(hi.X, now.at.X-size)), Y: max(lo.Y, min(hi.Y, now.at.Y-size))}
		nearHi := geometry.Point{X: max(lo.X, min(hi.X, now.at.X+size)), Y: max(lo.Y, min(hi.Y, now.at.Y+size))}
		for range per(nearSamples) {
			s.try(i, &found, place{sh, s.shapes[sh].snapped(s.within(nearLo, nearHi))})
		}
	}
	top := candidate{cost: math.Inf(1)}
	for _, c := range found {
		size := s.shapes[c.shape].size
		if c = s.descend(i, c, 0.25*size, 0.02*size); c.cost < top.cost {
			top = c
		}
	}
	size := s.shapes[top.shape].size
	s.put(i, s.descend(i, top, 0.02*size, 0.0005*size).place)
}

// within returns a random point of a rectangle.
func (s *searcher) within(lo, hi geometry.Point) geometry.Point {
	return geometry.Point{X: lo.X + s.dice.Float64()*(hi.X-lo.X), Y: lo.Y + s.dice.Float64()*(hi.Y-lo.Y)}
}

func (s *searcher) try(i int, found *best, p place) {
	if bound := found.bound(); bound > 0 {
		found.add(candidate{p, s.cost(i, p, bound)})
	}
}

// descend walks down in steps along the axes and diagonals, longer after a
// success and shorter after a failure, until the step is below least.
func (s *searcher) descend(i int, c candidate, step, least float64) candidate {
	lo, hi := s.room(c.shape, s.length)
	for sx, sy := step, step; c.cost > 0 && (sx > least || sy > least); {
		dx, dy := sx, sy
		switch s.dice.IntN(4) {
		case 0:
			dy = 0
		case 1:
			dx = 0
		case 2:
			dy = -dy
		}
		better := false
		for _, sign := range [2]float64{1, -1} {
			at := s.shapes[c.shape].snapped(geometry.Point{X: max(lo.X, min(hi.X, c.at.X+sign*dx)), Y: max(lo.Y, min(hi.Y, c.at.Y+sign*dy))})
			if cost := s.cost(i, place{c.shape, at}, c.cost); cost < c.cost {
				c, better = candidate{place{c.shape, at}, cost}, true
				break
			}
		}
		factor := 0.5
		if better {
			factor = 1.1
		}
		if dx != 0 {
			sx *= factor
		}
		if dy != 0 {
			sy *= factor
		}
	}
	return c
}
