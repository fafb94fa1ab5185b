package sheet

import (
	"math"
	"slices"

	"secondcut/geometry"
)

// bits is a row of cells, one bit a cell.
type bits []uint64

func newBits(n int) bits { return make(bits, (n+63)/64) }

func (b bits) set(i int) { b[i/64] |= 1 << (i % 64) }

// fill sets the cells from lo up to but without hi.
func (b bits) fill(lo, hi int) {
	for i := max(lo, 0); i < min(hi, 64*len(b)); i++ {
		b.set(i)
	}
}

// any reports whether any cell from lo up to but without hi is set.
func (b bits) any(lo, hi int) bool {
	lo, hi = max(lo, 0), min(hi, 64*len(b))
	for i := lo; i < hi; {
		word := b[i/64] >> (i % 64)
		n := min(64-i%64, hi-i)
		if n < 64 {
			word &= 1<<n - 1
		}
		if word != 0 {
			return true
		}
		i += n
	}
	return false
}

// meets reports whether a set cell of c, moved right by shift, is set in b.
func (b bits) meets(c bits, shift int) bool {
	skip, by := shift/64, shift%64
	for i, w := range c {
		if w == 0 {
			continue
		}
		if k := i + skip; k < len(b) && b[k]&(w<<by) != 0 {
			return true
		}
		if k := i + skip + 1; by > 0 && k < len(b) && b[k]&(w>>(64-by)) != 0 {
			return true
		}
	}
	return false
}

// add sets in b what is set in c, moved right by shift; what falls out is lost.
func (b bits) add(c bits, shift int) {
	skip, by := shift/64, shift%64
	for i, w := range c {
		if k := i + skip; k < len(b) {
			b[k] |= w << by
		}
		if k := i + skip + 1; by > 0 && k < len(b) {
			b[k] |= w >> (64 - by)
		}
	}
}

// cells is a shape as rows of cells, the first row on top.
type cells struct {
	width int
	rows  []bits
}

func newCells(width, height int) cells {
	c := cells{width, make([]bits, height)}
	for i := range c.rows {
		c.rows[i] = newBits(width)
	}
	return c
}

// grown returns the shape with n cells added on all sides; cell 0, 0 of the old
// shape is cell n, n of the new one.
func (c cells) grown(n int) cells {
	wide := newCells(c.width+2*n, len(c.rows)+2*n)
	for y, row := range c.rows {
		spread := newBits(wide.width)
		for s := range 2*n + 1 {
			spread.add(row, s)
		}
		for s := range 2*n + 1 {
			wide.rows[y+s].add(spread, 0)
		}
	}
	return wide
}

// cellsOf draws closed rings, insides filled, and open lines on cells of a size;
// corner is the upper left corner of the first cell. Cells that a line touches are
// set but for slivers of a quarter of a cell.
func cellsOf(rings []geometry.Polyline, lines [][]geometry.Point, corner geometry.Point, sizeX, sizeY float64, width, height int) cells {
	c := newCells(width, height)
	at := func(q geometry.Point) (x, y float64) { return (q.X - corner.X) / sizeX, (corner.Y - q.Y) / sizeY }
	mark := func(p, q geometry.Point) {
		x0, y0 := at(p)
		x1, y1 := at(q)
		n := int(math.Ceil(4*math.Max(math.Abs(x1-x0), math.Abs(y1-y0)))) + 1
		for i := range n + 1 {
			u := float64(i) / float64(n)
			x, y := int(math.Floor(x0+(x1-x0)*u)), int(math.Floor(y0+(y1-y0)*u))
			if x >= 0 && y >= 0 && x < width && y < height {
				c.rows[y].set(x)
			}
		}
	}
	for _, r := range rings {
		for i, p := range r {
			mark(p, r[(i+1)%len(r)])
		}
	}
	for _, l := range lines {
		for i, q := range l {
			mark(l[max(i-1, 0)], q)
		}
	}
	for y := range height {
		for _, s := range scan(rings, corner.Y-(float64(y)+0.5)*sizeY) {
			c.rows[y].fill(int(math.Ceil((s[0]-corner.X)/sizeX-0.5)), int(math.Ceil((s[1]-corner.X)/sizeX-0.5)))
		}
	}
	return c
}

// scan returns the stretches of the level line at y inside the rings, by the
// even-odd rule.
func scan(rings []geometry.Polyline, y float64) [][2]float64 {
	var at []float64
	for _, r := range rings {
		for i, p := range r {
			q := r[(i+1)%len(r)]
			if (p.Y > y) != (q.Y > y) {
				at = append(at, p.X+(q.X-p.X)*(y-p.Y)/(q.Y-p.Y))
			}
		}
	}
	slices.Sort(at)
	out := make([][2]float64, 0, len(at)/2)
	for i := 0; i+1 < len(at); i += 2 {
		out = append(out, [2]float64{at[i], at[i+1]})
	}
	return out
}
