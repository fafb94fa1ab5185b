package synth

import (
	"math"
	"slices"

	"secondcut/geometry"
)

const (
	cellMM   = 4.0  // side of the cells of the look-up grid
	reachMM  = 5.0  // distance from the edge up to which it is known
	chordTol = 0.01 // mm, distance of the drawn edge from the true path
)

// outline answers quickly where a point lies with respect to a piece's clean
// edge.
type outline struct {
	parts  []part
	lo, hi geometry.Point
	nx, ny int
	cells  []cell
	rings  []float64 // length of each ring
}

// part is a straight bit of an edge, at most a cell long.
type part struct {
	a, b geometry.Point
	from float64 // arc length at a, from the ring's first knot
	ring int
}

// cell lists the parts and threads within reach of any of its points.
type cell struct {
	parts, threads []int32
	inside         bool // whether the cell's centre lies in the cloth
}

// near is a point's place with respect to the edge: depth inside it in mm
// (negative outside), and the arc length and ring of the nearest point.
type near struct {
	depth, along float64
	ring         int
}

func newOutline(rings []geometry.Path) *outline {
	o := &outline{}
	var all geometry.Polyline
	for r, path := range rings {
		ring := path.Flatten(chordTol)
		all = append(all, ring...)
		o.addRing(ring, r)
	}
	o.lo, o.hi = all.Bounds()
	o.lo.X, o.lo.Y = o.lo.X-20, o.lo.Y-20
	o.hi.X, o.hi.Y = o.hi.X+20, o.hi.Y+20
	o.nx, o.ny = int((o.hi.X-o.lo.X)/cellMM)+1, int((o.hi.Y-o.lo.Y)/cellMM)+1
	o.cells = make([]cell, o.nx*o.ny)
	for i, p := range o.parts {
		o.eachCell(p.a, p.b, func(c *cell) { c.parts = append(c.parts, int32(i)) })
	}
	o.fill()
	return o
}

func (o *outline) addRing(ring geometry.Polyline, r int) {
	along := 0.0
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		l := a.Dist(b)
		n := max(1, int(math.Ceil(l/cellMM)))
		for k := range n {
			t := float64(k) / float64(n)
			o.parts = append(o.parts, part{a.Lerp(b, t), a.Lerp(b, float64(k+1)/float64(n)), along + t*l, r})
		}
		along += l
	}
	o.rings = append(o.rings, along)
}

// eachCell visits the cells within reach of the stretch from a to b.
func (o *outline) eachCell(a, b geometry.Point, visit func(*cell)) {
	x0 := o.column(min(a.X, b.X) - reachMM)
	x1 := o.column(max(a.X, b.X) + reachMM)
	y0 := o.row(min(a.Y, b.Y) - reachMM)
	y1 := o.row(max(a.Y, b.Y) + reachMM)
	for j := y0; j <= y1; j++ {
		for i := x0; i <= x1; i++ {
			visit(&o.cells[j*o.nx+i])
		}
	}
}

func (o *outline) column(x float64) int { return min(max(int((x-o.lo.X)/cellMM), 0), o.nx-1) }
func (o *outline) row(y float64) int    { return min(max(int((y-o.lo.Y)/cellMM), 0), o.ny-1) }

// centre returns the middle of cell (i, j). The small offset keeps it off
// vertices with round coordinates.
func (o *outline) centre(i, j int) geometry.Point {
	return geometry.Point{X: o.lo.X + (float64(i)+0.5)*cellMM + 1.3e-5, Y: o.lo.Y + (float64(j)+0.5)*cellMM + 1.7e-5}
}

// fill marks the cells whose centre is inside: by the even-odd rule along each
// row.
func (o *outline) fill() {
	for j := range o.ny {
		y := o.centre(0, j).Y
		var xs []float64
		for _, p := range o.parts {
			if (p.a.Y > y) != (p.b.Y > y) {
				xs = append(xs, p.a.X+(p.b.X-p.a.X)*(y-p.a.Y)/(p.b.Y-p.a.Y))
			}
		}
		slices.Sort(xs)
		for i, k := 0, 0; i < o.nx; i++ {
			for x := o.centre(i, j).X; k < len(xs) && xs[k] < x; {
				k++
			}
			o.cells[j*o.nx+i].inside = k%2 == 1
		}
	}
}

// cellAt returns the cell of q, or nil outside the grid.
func (o *outline) cellAt(q geometry.Point) (c *cell, i, j int) {
	if q.X < o.lo.X || q.Y < o.lo.Y || q.X >= o.hi.X || q.Y >= o.hi.Y {
		return nil, 0, 0
	}
	i, j = o.column(q.X), o.row(q.Y)
	return &o.cells[j*o.nx+i], i, j
}

// locate returns the place of q. Further than reachMM from the edge, depth is
// +-reachMM and nothing else is known.
func (o *outline) locate(q geometry.Point) near {
	c, i, j := o.cellAt(q)
	if c == nil {
		return near{depth: -reachMM}
	}
	inside, n, best := c.inside, near{}, reachMM
	centre := o.centre(i, j)
	for _, k := range c.parts {
		p := &o.parts[k]
		if crosses(centre, q, p.a, p.b) {
			inside = !inside
		}
		ab, aq := p.b.Sub(p.a), q.Sub(p.a)
		t := min(max(aq.Dot(ab)/ab.Dot(ab), 0), 1)
		x, y := aq.X-t*ab.X, aq.Y-t*ab.Y
		if d2 := x*x + y*y; d2 < best*best {
			best = math.Sqrt(d2)
			n.along, n.ring = p.from+t*ab.Len(), p.ring
		}
	}
	n.depth = best
	if !inside {
		n.depth = -best
	}
	return n
}

// crosses reports whether the stretches a-b and c-d cross.
func crosses(a, b, c, d geometry.Point) bool {
	ab, cd := b.Sub(a), d.Sub(c)
	c1, c2 := ab.Cross(c.Sub(a)), ab.Cross(d.Sub(a))
	c3, c4 := cd.Cross(a.Sub(c)), cd.Cross(b.Sub(c))
	return (c1 > 0) != (c2 > 0) && (c3 > 0) != (c4 > 0)
}
