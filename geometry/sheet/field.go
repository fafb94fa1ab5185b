package sheet

import (
	"math"
	"slices"

	"secondcut/geometry"
)

// field finds room for upright boxes: small cells, some of them blocked, with
// sums over them so that any box is tried at once (summed area table, Crow 1984).
type field struct {
	lo            geometry.Point
	cell          float64
	width, height int
	blocked       []bool
	sums          []int32 // of blocked cells left of and below a corner
}

// newField returns free room of an area on at most some 40000 cells of at least
// half a millimetre.
func newField(area box) *field {
	cell := math.Max(0.5, math.Sqrt(math.Max(area.width(), 1)*math.Max(area.height(), 1)/40000))
	f := &field{lo: area.lo, cell: cell, width: max(1, int(area.width()/cell)), height: max(1, int(area.height()/cell))}
	f.blocked = make([]bool, f.width*f.height)
	return f
}

// copy returns a field that can be blocked by itself.
func (f *field) copy() *field {
	g := *f
	g.blocked, g.sums = slices.Clone(f.blocked), nil
	return &g
}

// outside blocks what lies outside the rings, by the even-odd rule.
func (f *field) outside(rings []geometry.Polyline) {
	for y := range f.height {
		row := f.blocked[y*f.width : (y+1)*f.width]
		from := 0
		for _, s := range scan(rings, f.lo.Y+(float64(y)+0.5)*f.cell) {
			to := min(max(int(math.Ceil((s[0]-f.lo.X)/f.cell)), from), f.width)
			for ; from < to; from++ {
				row[from] = true
			}
			from = max(from, int(math.Floor((s[1]-f.lo.X)/f.cell)))
		}
		for ; from < f.width; from++ {
			row[from] = true
		}
	}
}

// line blocks what lies within clear mm of an open line, in both coordinates.
func (f *field) line(points []geometry.Point, clear float64) {
	for i, q := range points {
		p := points[max(i-1, 0)]
		n := int(math.Ceil(p.Dist(q)/math.Max(clear, f.cell))) + 1
		for k := range n + 1 {
			f.box(around(p.Lerp(q, float64(k)/float64(n)), 2*clear, 2*clear))
		}
	}
}

// ring blocks the same along a closed line.
func (f *field) ring(points []geometry.Point, clear float64) {
	if len(points) > 0 {
		f.line(points, clear)
		f.line([]geometry.Point{points[len(points)-1], points[0]}, clear)
	}
}

// box blocks the cells that a box touches.
func (f *field) box(b box) {
	f.sums = nil
	x0, x1 := max(0, int(math.Floor((b.lo.X-f.lo.X)/f.cell))), min(f.width, int(math.Ceil((b.hi.X-f.lo.X)/f.cell)))
	y0, y1 := max(0, int(math.Floor((b.lo.Y-f.lo.Y)/f.cell))), min(f.height, int(math.Ceil((b.hi.Y-f.lo.Y)/f.cell)))
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			f.blocked[y*f.width+x] = true
		}
	}
}

// blockedBy blocks the cells whose centres are blocked in another field.
func (f *field) blockedBy(g *field) {
	f.sums = nil
	for y := range f.height {
		for x := range f.width {
			q := f.lo.Add(geometry.Vec{X: (float64(x) + 0.5) * f.cell, Y: (float64(y) + 0.5) * f.cell}).Sub(g.lo)
			i, j := int(q.X/g.cell), int(q.Y/g.cell)
			if q.X >= 0 && q.Y >= 0 && i < g.width && j < g.height && g.blocked[j*g.width+i] {
				f.blocked[y*f.width+x] = true
			}
		}
	}
}

func (f *field) sum() {
	w := f.width + 1
	f.sums = make([]int32, w*(f.height+1))
	for y := range f.height {
		var row int32
		for x := range f.width {
			if f.blocked[y*f.width+x] {
				row++
			}
			f.sums[(y+1)*w+x+1] = f.sums[y*w+x+1] + row
		}
	}
}

// free reports whether a box, as far as it lies in the area, touches no blocked
// cell.
func (f *field) free(b box) bool {
	x0, x1 := max(0, int((b.lo.X-f.lo.X)/f.cell)), min(f.width, int(math.Ceil((b.hi.X-f.lo.X)/f.cell)))
	y0, y1 := max(0, int((b.lo.Y-f.lo.Y)/f.cell)), min(f.height, int(math.Ceil((b.hi.Y-f.lo.Y)/f.cell)))
	for y := y0; y < y1; y++ {
		if x0 < x1 && slices.Contains(f.blocked[y*f.width+x0:y*f.width+x1], true) {
			return false
		}
	}
	return true
}

// lies reports whether a box lies in the area and is free.
func (f *field) lies(b box) bool {
	area := box{f.lo, f.lo.Add(geometry.Vec{X: float64(f.width) * f.cell, Y: float64(f.height) * f.cell})}
	return b.inside(area) >= 0 && f.free(b)
}

// find returns the free box of a size with the least cost, which is a function of
// its centre.
func (f *field) find(width, height float64, cost func(geometry.Point) float64) (box, bool) {
	if f.sums == nil {
		f.sum()
	}
	w, h := max(1, int(math.Ceil(width/f.cell))), max(1, int(math.Ceil(height/f.cell)))
	best, found, least := box{}, false, math.Inf(1)
	row := f.width + 1
	for y := 0; y+h <= f.height; y++ {
		for x := 0; x+w <= f.width; x++ {
			if f.sums[(y+h)*row+x+w]-f.sums[y*row+x+w]-f.sums[(y+h)*row+x]+f.sums[y*row+x] > 0 {
				continue
			}
			c := f.lo.Add(geometry.Vec{X: (float64(x) + float64(w)/2) * f.cell, Y: (float64(y) + float64(h)/2) * f.cell})
			if k := cost(c); k < least {
				best, found, least = around(c, width, height), true, k
			}
		}
	}
	return best, found
}

// nearTo is the cost of being far from a point.
func nearTo(q geometry.Point) func(geometry.Point) float64 { return q.Dist }
