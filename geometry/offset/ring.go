package offset

import (
	"cmp"
	"math"
	"slices"

	"secondcut/geometry"
)

// node is a place where the raw line meets itself.
type node struct {
	at geometry.Point
	up int // index of the node it was merged with, itself when not
}

// stop is a visit of the raw line to a node: at position q on the polygon (side
// plus fraction) and pos on the chain.
type stop struct {
	q, pos float64
	node   int
}

// strand is a part of the raw line between two stops.
type strand struct{ from, to stop }

// arrangement is a closed chain split where it meets itself.
type arrangement struct {
	c     chain
	f     *flat
	nodes []node
	stops []stop
}

// arrange finds where a closed (or open) chain meets itself; nil where it does so
// too often to make sense.
func arrange(c chain, closed bool) *arrangement {
	a := &arrangement{c: c, f: flatten(c, closed, flatTol)}
	hits, ok := a.f.hits()
	if !ok {
		return nil
	}
	for _, h := range hits {
		p, q := a.f.param(h.i, h.s), a.f.param(h.j, h.t)
		at := c.at(p)
		if !h.touching {
			p, q, at = c.refine(p, q)
		}
		id := len(a.nodes)
		a.nodes = append(a.nodes, node{at: at, up: id})
		a.stops = append(a.stops, stop{float64(h.i) + h.s, p, id}, stop{float64(h.j) + h.t, q, id})
	}
	slices.SortFunc(a.stops, func(x, y stop) int { return cmp.Compare(x.q, y.q) })
	a.merge()
	return a
}

// param returns the position on the chain at fraction s of side i.
func (f *flat) param(i int, s float64) float64 {
	return f.pos[i] + s*(f.end(i)-f.pos[i])
}

// refine improves a crossing found on the polygon by Newton steps on the curves.
func (c chain) refine(p, q float64) (float64, float64, geometry.Point) {
	i, s := c.locate(p)
	j, t := c.locate(q)
	a, b := c[i].seg, c[j].seg
	if a.Curved || b.Curved {
		u, v := s, t
		for range 8 {
			e := b.At(v).Sub(a.At(u))
			da, db := a.Deriv(u), b.Deriv(v)
			den := da.Cross(db)
			if math.Abs(den) < 1e-9*da.Len()*db.Len() {
				break
			}
			u = math.Min(math.Max(u+e.Cross(db)/den, 0), 1)
			v = math.Min(math.Max(v+e.Cross(da)/den, 0), 1)
		}
		if math.Abs(u-s) < 0.2 && math.Abs(v-t) < 0.2 && a.At(u).Dist(b.At(v)) < 1e-6 {
			s, t = u, v
		}
	}
	return float64(i) + s, float64(j) + t, a.At(s).Lerp(b.At(t), 0.5)
}

// merge makes nodes one that lie within a hair of each other.
func (a *arrangement) merge() {
	const hair = 1e-5
	order := make([]int, len(a.nodes))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int { return cmp.Compare(a.nodes[i].at.X, a.nodes[j].at.X) })
	for x, i := range order {
		for _, j := range order[x+1:] {
			if a.nodes[j].at.X > a.nodes[i].at.X+hair {
				break
			}
			if a.nodes[i].at.Dist(a.nodes[j].at) < hair {
				a.nodes[a.root(j)].up = a.root(i)
			}
		}
	}
}

func (a *arrangement) root(i int) int {
	for a.nodes[i].up != i {
		a.nodes[i].up = a.nodes[a.nodes[i].up].up // halve the way for the next time
		i = a.nodes[i].up
	}
	return i
}

// sample returns a point on the longest straight part of a strand, the direction
// there, and the length of that part.
func (a *arrangement) sample(s strand) (at geometry.Point, dir geometry.Vec, length float64) {
	n := a.f.sides()
	to := s.to.q
	if to < s.from.q {
		to += float64(n)
	}
	for i := int(s.from.q); float64(i) < to; i++ {
		p, q := a.f.side(i % n)
		lo, hi := math.Max(s.from.q-float64(i), 0), math.Min(to-float64(i), 1)
		if l := p.Dist(q) * (hi - lo); l > length {
			at, dir, length = p.Lerp(q, (lo+hi)/2), q.Sub(p).Unit(), l
		}
	}
	return
}

// strands returns the parts between stops that bound what is covered: covered on
// their left, not on their right. Covered is where the winding number is at least
// level.
func (a *arrangement) strands(level int) []strand {
	var out []strand
	for i, from := range a.stops {
		s := strand{from, a.stops[(i+1)%len(a.stops)]}
		at, dir, length := a.sample(s)
		if length < 1e-6 {
			x, y := a.root(s.from.node), a.root(s.to.node)
			if a.nodes[x].at.Dist(a.nodes[y].at) < 1e-4 {
				a.nodes[y].up = x
			}
			continue
		}
		aside := right(dir).Scale(math.Min(1e-5, length/100))
		if a.f.winding(at.Add(aside)) < level && a.f.winding(at.Add(aside.Scale(-1))) >= level {
			out = append(out, s)
		}
	}
	return out
}

// outer returns the boundary of what a closed raw line covers, and a point of
// each gap that it closes.
func outer(raw chain, hole bool) (chain, []geometry.Point, error) {
	level, sign := 1, 1.0
	if hole {
		level, sign = 0, -1
	}
	a := arrange(raw, true)
	if a == nil {
		return nil, nil, ErrTangled
	}
	var rings []chain
	if len(a.stops) == 0 {
		rings = []chain{raw}
	} else {
		rings = a.rings(a.strands(level))
	}
	best, most := -1, 0.0
	for i, r := range rings {
		if area := sign * area(r); area > most {
			best, most = i, area
		}
	}
	if best < 0 {
		return nil, nil, lostError(raw[0].edge)
	}
	var gaps []geometry.Point
	for i, r := range rings {
		if i != best && math.Abs(area(r)) > 1 {
			gaps = append(gaps, r.first())
		}
	}
	ring := closeUp(rings[best])
	for _, tol := range []float64{0.005, 0.002, flatTol / 2} {
		snipped, clean := ring.snip(tol)
		if clean {
			ring = snipped
		} else if tol < flatTol { // else two stretches just lie closer than tol
			return nil, nil, ErrTangled
		}
	}
	return ring, gaps, nil
}

// snip cuts out loops that a closed chain shows when drawn as a polygon within tol
// mm: hairpins at cusps that are hardly wider than that. It reports whether no
// crossing is left.
func (c chain) snip(tol float64) (chain, bool) {
	const most, tries = 1.0, 40 // mm along the loop; loops
	for range tries {
		f := flatten(c, true, tol)
		h, meets, crosses := f.smallestLoop()
		if !meets {
			return c, true
		}
		p, q := f.param(h.i, h.s), f.param(h.j, h.t)
		inner := c.cut(p, q)
		outer := append(c.cut(q, float64(len(c))), c.cut(0, p)...)
		if outer.span() < inner.span() {
			inner, outer = outer, inner
		}
		if inner.span() > most || len(outer) < 2 {
			return c, !crosses
		}
		c = closeUp(outer)
	}
	return c, false
}

// span returns about the length of a chain, mm.
func (c chain) span() float64 {
	var l float64
	for _, s := range c {
		l += s.seg.A.Dist(s.seg.At(0.5)) + s.seg.At(0.5).Dist(s.seg.D)
	}
	return l
}

// smallestLoop returns the place where the polygon meets itself between whose
// visits there are the fewest sides, whether there is one, and whether it crosses
// itself anywhere.
func (f *flat) smallestLoop() (best hit, meets, crosses bool) {
	least := math.MaxInt
	hits, _ := f.hits()
	for _, h := range hits {
		crosses = crosses || !h.touching
		if n := min(h.j-h.i, f.sides()-(h.j-h.i)); n < least {
			best, least = h, n
		}
	}
	return best, len(hits) > 0, crosses
}

// area returns the signed area of a closed chain, mm2.
func area(c chain) float64 {
	p, _ := c.path()
	return p.Area()
}

// rings joins strands to closed chains. Strands that lead nowhere are left out.
func (a *arrangement) rings(strands []strand) []chain {
	starts := map[int][]int{}
	for i, s := range strands {
		n := a.root(s.from.node)
		starts[n] = append(starts[n], i)
	}
	used := make([]bool, len(strands))
	var out []chain
	for i := range strands {
		if used[i] {
			continue
		}
		var ring chain
		first := a.root(strands[i].from.node)
		for at := i; at >= 0; {
			used[at] = true
			ring = append(ring, a.spans(strands[at])...)
			n := a.root(strands[at].to.node)
			if n == first {
				if len(ring) > 1 {
					out = append(out, ring)
				}
				break
			}
			at = a.next(strands, starts[n], used, strands[at])
		}
	}
	return out
}

// next picks, among the unused strands that begin at a node, the one that turns
// most to the right of the one that arrives there; -1 for none.
func (a *arrangement) next(strands []strand, from []int, used []bool, arriving strand) int {
	in := a.spans(arriving)
	best, bestTurn := -1, math.Inf(1)
	for _, i := range from {
		if used[i] {
			continue
		}
		turn := 0.0
		if out := a.spans(strands[i]); len(from) > 1 && len(in) > 0 && len(out) > 0 {
			u, v := endDir(in[len(in)-1].seg), startDir(out[0].seg)
			turn = math.Atan2(u.Cross(v), u.Dot(v))
		}
		if turn < bestTurn {
			best, bestTurn = i, turn
		}
	}
	return best
}

// spans returns the part of the chain along a strand, its ends exactly at the
// nodes.
func (a *arrangement) spans(s strand) chain {
	var out chain
	if s.to.q > s.from.q {
		out = a.c.cut(s.from.pos, s.to.pos)
	} else {
		out = append(a.c.cut(s.from.pos, float64(len(a.c))), a.c.cut(0, s.to.pos)...)
	}
	if len(out) > 0 {
		moveStart(&out[0].seg, a.nodes[a.root(s.from.node)].at)
		moveEnd(&out[len(out)-1].seg, a.nodes[a.root(s.to.node)].at)
	}
	return out
}

// open cuts the loops out of an open chain: from each place where it meets itself
// it goes on at the last visit there.
func open(c chain) chain {
	a := arrange(c, false)
	if a == nil {
		return nil
	}
	var out chain
	at := stop{q: 0, pos: 0, node: -1}
	for i := 0; i < len(a.stops); i++ {
		s := a.stops[i]
		if s.q < at.q {
			continue
		}
		last := s
		for _, t := range a.stops[i+1:] {
			if a.root(t.node) == a.root(s.node) {
				last = t
			}
		}
		if last.q-s.q < 1e-9 {
			continue
		}
		out = append(out, c.cut(at.pos, s.pos)...)
		at = last
	}
	return joined(append(out, c.cut(at.pos, float64(len(c)))...))
}
