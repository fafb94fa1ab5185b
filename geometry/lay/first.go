package lay

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"secondcut/geometry"
)

// span is an interval of x that is taken.
type span struct{ lo, hi float64 }

// along returns where the line of that dy runs inside the set.
func (c *convexSet) along(dy float64) (span, bool) {
	if dy <= c.loY || dy >= c.hiY {
		return span{}, false
	}
	s := span{c.loX, c.hiX}
	for _, h := range c.planes {
		room := h.c - h.ny*dy
		switch {
		case h.nx > 1e-12:
			s.hi = min(s.hi, room/h.nx)
		case h.nx < -1e-12:
			s.lo = max(s.lo, room/h.nx)
		case room <= 0:
			return span{}, false
		}
	}
	return s, s.lo < s.hi
}

// builder lays items one by one.
type builder struct {
	*table
	laid []place
	busy []span
}

// leftmost returns the smallest x of a shape's origin, at or beyond from, at which
// it lies free on the line of that y.
func (b *builder) leftmost(s int, from, y float64) float64 {
	b.busy = b.busy[:0]
	take := func(r *region, at geometry.Point) {
		dy := y - at.Y
		if dy <= r.loY || dy >= r.hiY {
			return
		}
		for i := range r.parts {
			if sp, ok := r.parts[i].along(dy); ok && sp.hi+at.X > from {
				b.busy = append(b.busy, span{sp.lo + at.X, sp.hi + at.X})
			}
		}
	}
	for _, q := range b.laid {
		take(b.region(q.shape, s), q.at)
	}
	for _, o := range b.kept {
		take(b.region(o, s), geometry.Point{})
	}
	slices.SortFunc(b.busy, func(p, q span) int { return cmp.Compare(p.lo, q.lo) })
	for sh := &b.shapes[s]; ; {
		free := from
		for _, sp := range b.busy {
			if sp.lo >= free {
				break
			}
			free = max(free, sp.hi)
		}
		if sh.stepX == 0 || free == from {
			return free
		}
		from = onGrid(free, sh.fromX, sh.stepX, math.Ceil)
	}
}

// levels returns the heights at which a shape is tried: its lowest and highest,
// those at which it just passes what is laid, and some between.
func (b *builder) levels(s int) []float64 {
	lo, hi := b.room(s, math.MaxFloat64)
	out := []float64{lo.Y}
	if hi.Y == lo.Y {
		return out
	}
	try := func(y float64) {
		if y = b.shapes[s].snapped(geometry.Point{Y: y}).Y; y > lo.Y && y <= hi.Y {
			out = append(out, y)
		}
	}
	const between = 40
	for i := 1; i <= between; i++ {
		try(lo.Y + (hi.Y-lo.Y)*float64(i)/between)
	}
	add := func(r *region, at geometry.Point) {
		try(at.Y + r.loY)
		try(at.Y + r.hiY)
	}
	for _, q := range b.laid {
		add(b.region(q.shape, s), q.at)
	}
	for _, o := range b.kept {
		add(b.region(o, s), geometry.Point{})
	}
	return out
}

// lay puts the item as far to the left as it goes, lowest first.
func (b *builder) lay(it item) {
	least, low := math.Inf(1), math.Inf(1)
	var at place
	for _, s := range it.shapes {
		lo, _ := b.room(s, math.MaxFloat64)
		for _, y := range b.levels(s) {
			x := b.leftmost(s, lo.X, y)
			if end := x + b.shapes[s].hi.X; end < least || end == least && y+b.shapes[s].lo.Y < low {
				least, low, at = end, y+b.shapes[s].lo.Y, place{s, geometry.Point{X: x, Y: y}}
			}
		}
	}
	b.laid = append(b.laid, at)
}

// build lays all items in an order, leftmost and lowest (bottom-left fill: Burke et
// al., A new bottom-left-fill heuristic, Operations Research 54, 2006).
func (t *table) build(order []int) layout {
	b := builder{table: t}
	out := layout{places: make([]place, len(t.items))}
	for _, i := range order {
		b.lay(t.items[i])
		out.places[i] = b.laid[len(b.laid)-1]
	}
	return t.trimmed(out)
}

// first returns the shortest of a few layouts that are built piece by piece:
// largest first, longest first, and shuffles of both.
func (t *table) first(seed uint64, tries int) layout {
	dice := rand.New(rand.NewPCG(seed, 0xf1))
	var out layout
	for n := range tries {
		key := make([]float64, len(t.items))
		for i, it := range t.items {
			s := &t.shapes[it.shapes[0]]
			key[i] = s.size
			if n%2 == 1 {
				key[i] = s.hi.X - s.lo.X
			}
			if n > 1 {
				key[i] *= 1 + 0.5*dice.Float64()
			}
			if s.atFold { // the fold is short; what needs it goes first
				key[i] *= 10
			}
		}
		order := dice.Perm(len(t.items))
		slices.SortFunc(order, func(i, j int) int { return cmp.Or(cmp.Compare(key[j], key[i]), cmp.Compare(i, j)) })
		if l := t.build(order); n == 0 || l.length < out.length {
			out = l
		}
	}
	return out
}

// tries returns how many first layouts are built: as many as take about half a second
// on a slow machine (measured on the instances of testdata), 2 to 12.
func (t *table) tries() int {
	const perSecond = 4e7 // parts of regions that are cut by a line
	parts, levels := 0, 0
	for _, r := range t.regions {
		parts += len(r.parts)
	}
	for _, it := range t.items {
		levels += len(it.shapes) * (40 + len(t.items))
	}
	work := float64(levels) * float64(len(t.items)) / 2 * float64(parts) / float64(len(t.regions))
	return int(min(12, max(2, perSecond/2/work)))
}

// trimmed returns the layout with the length that its pieces need.
func (t *table) trimmed(l layout) layout {
	l.length = t.minLength
	for _, p := range l.places {
		l.length = max(l.length, p.at.X+t.shapes[p.shape].hi.X)
	}
	return l
}
