package outline

import (
	"math"
	"slices"

	"secondcut/geometry"
)

// region is a contour filled into cells of 1 mm: a quick answer to "does this
// point lie on the cloth, by the contour?".
type region struct {
	lo   geometry.Point
	w, h int
	in   []bool
	hole bool // the ring runs clockwise: cloth is what lies outside it
}

// maxCells bounds the raster: 9 square metres.
const maxCells = 9_000_000

// newRegion fills the ring by scanning rows (even-odd rule). ok is false when
// the ring is too large.
func newRegion(ring geometry.Polyline) (r *region, ok bool) {
	lo, hi := ring.Bounds()
	w, h := math.Ceil(hi.X-lo.X)+1, math.Ceil(hi.Y-lo.Y)+1
	if !(w*h <= maxCells) {
		return nil, false
	}
	r = &region{lo: lo, w: int(w), h: int(h), in: make([]bool, int(w)*int(h)), hole: ring.Area() < 0}
	crossings := make([][]float64, r.h)
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		if a.Y > b.Y {
			a, b = b, a
		}
		for y := int(math.Ceil(a.Y - lo.Y)); y < r.h && float64(y)+lo.Y < b.Y; y++ {
			t := (float64(y) + lo.Y - a.Y) / (b.Y - a.Y)
			crossings[y] = append(crossings[y], a.X+(b.X-a.X)*t-lo.X)
		}
	}
	for y, xs := range crossings {
		slices.Sort(xs)
		for i := 0; i+1 < len(xs); i += 2 {
			for x := int(math.Ceil(xs[i])); float64(x) < xs[i+1]; x++ {
				r.in[y*r.w+x] = true
			}
		}
	}
	return r, true
}

// cloth reports whether p lies on the cloth by the contour.
func (r *region) cloth(p geometry.Point) bool {
	x, y := int(math.Round(p.X-r.lo.X)), int(math.Round(p.Y-r.lo.Y))
	in := x >= 0 && y >= 0 && x < r.w && y < r.h && r.in[y*r.w+x]
	return in != r.hole
}
