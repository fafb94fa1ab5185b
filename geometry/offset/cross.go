package offset

import (
	"cmp"
	"math"
	"slices"

	"secondcut/geometry"
)

// flat is a chain as a closed polygon. Side i runs from p[i] to p[i+1]; its
// parameters on the chain run from pos[i] to end(i).
type flat struct {
	p      []geometry.Point
	pos    []float64
	closed bool
	lo     geometry.Point
	cell   float64
	cols   int
	rows   int
	cells  [][]int32 // sides that touch a cell
}

// flatTol is the distance in mm of the polygon on which crossings are looked for;
// found ones are then improved on the curves themselves.
const flatTol = 0.001

// flatten returns c as a polygon within tol mm, a closed one or an open line.
func flatten(c chain, closed bool, tol float64) *flat {
	f := &flat{closed: closed}
	for i, s := range c {
		n := 1
		if s.seg.Curved {
			a, b := s.seg.Deriv2(0).Len()/6, s.seg.Deriv2(1).Len()/6
			n = int(math.Ceil(math.Sqrt(0.75 * math.Max(a, b) / tol))) // Wang 1984
			n = min(max(n, 1), 2000)
		}
		for k := range n {
			t := float64(k) / float64(n)
			f.p, f.pos = append(f.p, s.seg.At(t)), append(f.pos, float64(i)+t)
		}
	}
	if !closed {
		f.p, f.pos = append(f.p, c.last()), append(f.pos, float64(len(c)))
	}
	f.sort()
	return f
}

// sides returns the number of sides.
func (f *flat) sides() int {
	if f.closed {
		return len(f.p)
	}
	return len(f.p) - 1
}

func (f *flat) side(i int) (a, b geometry.Point) {
	return f.p[i], f.p[(i+1)%len(f.p)]
}

// end returns the position at which side i ends.
func (f *flat) end(i int) float64 {
	if i+1 < len(f.pos) {
		return f.pos[i+1]
	}
	return math.Floor(f.pos[i]) + 1
}

// sort puts the sides into cells of about two mean side lengths, fewer than four
// cells a side.
func (f *flat) sort() {
	lo, hi := geometry.Polyline(f.p).Bounds()
	var total float64
	for i := range f.sides() {
		a, b := f.side(i)
		total += a.Dist(b)
	}
	n := float64(f.sides())
	w, h := hi.X-lo.X+1e-6, hi.Y-lo.Y+1e-6
	f.cell = math.Max(2*total/n, math.Sqrt(w*h/(4*n)))
	f.cell = math.Max(f.cell, math.Max(w, h)/2000)
	f.lo = lo
	f.cols, f.rows = int(w/f.cell)+1, int(h/f.cell)+1
	f.cells = make([][]int32, f.cols*f.rows)
	for i := range f.sides() {
		a, b := f.side(i)
		f.touch(a, b, func(cell int) { f.cells[cell] = append(f.cells[cell], int32(i)) })
	}
}

func (f *flat) col(x float64) int { return min(max(int((x-f.lo.X)/f.cell), 0), f.cols-1) }
func (f *flat) row(y float64) int { return min(max(int((y-f.lo.Y)/f.cell), 0), f.rows-1) }

// touch calls visit for each cell that the line from a to b touches, row by row.
func (f *flat) touch(a, b geometry.Point, visit func(cell int)) {
	const hair = 1e-6
	if a.Y > b.Y {
		a, b = b, a
	}
	r0, r1 := f.row(a.Y-hair), f.row(b.Y+hair)
	for r := r0; r <= r1; r++ {
		x0, x1 := a.X, b.X
		if r0 != r1 && b.Y > a.Y {
			at := func(y float64) float64 {
				return a.X + (b.X-a.X)*math.Min(math.Max((y-a.Y)/(b.Y-a.Y), 0), 1)
			}
			x0, x1 = at(f.lo.Y+float64(r)*f.cell-hair), at(f.lo.Y+float64(r+1)*f.cell+hair)
		}
		for c := f.col(math.Min(x0, x1) - hair); c <= f.col(math.Max(x0, x1)+hair); c++ {
			visit(r*f.cols + c)
		}
	}
}

// hit is a place where side i at fraction s meets side j > i at fraction t.
// Touching says that an end of one lies on the other.
type hit struct {
	i, j     int
	s, t     float64
	touching bool
}

// hits returns all places where sides meet that do not follow each other. It
// gives up, reporting false, when there are many more of them than sides: then
// long stretches lie on each other.
func (f *flat) hits() ([]hit, bool) {
	var out []hit
	n := f.sides()
	for _, cell := range f.cells {
		for x, ci := range cell {
			for _, cj := range cell[x+1:] {
				i, j := int(min(ci, cj)), int(max(ci, cj))
				if j-i < 2 || f.closed && i == 0 && j == n-1 {
					continue
				}
				out = f.meet(i, j, out)
			}
			if len(out) > 8*n+1024 {
				return out, false
			}
		}
	}
	slices.SortFunc(out, func(a, b hit) int {
		return cmp.Or(cmp.Compare(a.i, b.i), cmp.Compare(a.j, b.j), cmp.Compare(a.s, b.s), cmp.Compare(a.t, b.t))
	})
	return slices.Compact(out), true
}

// meet appends the places where sides i and j meet.
func (f *flat) meet(i, j int, out []hit) []hit {
	a, b := f.side(i)
	c, d := f.side(j)
	if math.Max(a.X, b.X) < math.Min(c.X, d.X)-1e-7 || math.Max(c.X, d.X) < math.Min(a.X, b.X)-1e-7 ||
		math.Max(a.Y, b.Y) < math.Min(c.Y, d.Y)-1e-7 || math.Max(c.Y, d.Y) < math.Min(a.Y, b.Y)-1e-7 {
		return out
	}
	u, v, w := b.Sub(a), d.Sub(c), c.Sub(a)
	const hair = 1e-7 // mm
	lu, lv := u.Len(), v.Len()
	if lu == 0 || lv == 0 {
		return out
	}
	touched := false
	ends := func(q geometry.Point, from geometry.Point, dir geometry.Vec, l float64, add func(x float64)) {
		r := q.Sub(from)
		x := r.Dot(dir) / (l * l)
		if math.Abs(r.Cross(dir)) < hair*l && x > -hair/l && x < 1+hair/l {
			touched = true
			add(math.Min(math.Max(x, 0), 1))
		}
	}
	ends(c, a, u, lu, func(x float64) { out = append(out, hit{i, j, x, 0, true}) })
	ends(d, a, u, lu, func(x float64) { out = append(out, hit{i, j, x, 1, true}) })
	ends(a, c, v, lv, func(x float64) { out = append(out, hit{i, j, 0, x, true}) })
	ends(b, c, v, lv, func(x float64) { out = append(out, hit{i, j, 1, x, true}) })
	den := u.Cross(v)
	if touched || math.Abs(den) < 1e-14*lu*lv {
		return out
	}
	s, t := w.Cross(v)/den, w.Cross(u)/den
	if s > 0 && s < 1 && t > 0 && t < 1 {
		out = append(out, hit{i, j, s, t, false})
	}
	return out
}

// crosses reports whether a closed chain crosses itself, and where; touching
// itself counts when touch is set.
func crosses(c chain, touch bool) (geometry.Point, bool) {
	f := flatten(c, true, flatTol)
	hits, _ := f.hits()
	for _, h := range hits {
		if touch || !h.touching {
			a, b := f.side(h.i)
			return a.Lerp(b, h.s), true
		}
	}
	return geometry.Point{}, false
}

// winding returns how often the closed polygon runs counter-clockwise round q: it
// counts the sides that a ray to the nearer side of the bounds crosses.
func (f *flat) winding(q geometry.Point) int {
	r := f.row(q.Y)
	if q.Y < f.lo.Y || q.Y > f.lo.Y+float64(f.rows)*f.cell {
		return 0
	}
	at := f.col(q.X)
	from, to, left := at, f.cols-1, false
	if at < f.cols/2 {
		from, to, left = 0, at, true
	}
	n := 0
	for c := from; c <= to; c++ {
		for _, i := range f.cells[r*f.cols+c] {
			a, b := f.side(int(i))
			if (a.Y > q.Y) == (b.Y > q.Y) {
				continue
			}
			x := a.X + (b.X-a.X)*(q.Y-a.Y)/(b.Y-a.Y)
			if (x <= q.X) != left || f.col(x) != c { // count each side once
				continue
			}
			if (b.Y > a.Y) != left {
				n++
			} else {
				n--
			}
		}
	}
	return n
}
