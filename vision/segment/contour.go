package segment

import (
	"math"

	"secondcut/geometry"
	"secondcut/vision/calib"
)

// field is a picture of one piece, 0 outside to 1 inside, blurred a little, with
// a margin of zeros; its pixel (0, 0) is pixel (x0, y0) of the plane image.
type field struct {
	v             []float32
	width, height int
	x0, y0        int
}

// newField draws the pixels of a piece.
func newField(pixels []int32, imageWidth int) *field {
	const margin = 4
	x0, y0, x1, y1 := math.MaxInt, math.MaxInt, 0, 0
	for _, i := range pixels {
		x, y := int(i)%imageWidth, int(i)/imageWidth
		x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x), max(y1, y)
	}
	f := &field{x0: x0 - margin, y0: y0 - margin, width: x1 - x0 + 1 + 2*margin, height: y1 - y0 + 1 + 2*margin}
	f.v = make([]float32, f.width*f.height)
	for _, i := range pixels {
		f.v[(int(i)/imageWidth-f.y0)*f.width+int(i)%imageWidth-f.x0] = 1
	}
	f.blur()
	f.blur()
	return f
}

// blur averages with weights 1 2 1 across and down.
func (f *field) blur() {
	tmp := make([]float32, len(f.v))
	for i := 1; i+1 < len(f.v); i++ {
		tmp[i] = (f.v[i-1] + 2*f.v[i] + f.v[i+1]) / 4
	}
	for i := f.width; i+f.width < len(f.v); i++ {
		f.v[i] = (tmp[i-f.width] + 2*tmp[i] + tmp[i+f.width]) / 4
	}
}

// rings returns the curves along which the field is one half, in plane mm, the
// field's high side on the left: outer ones counter-clockwise, holes clockwise.
// Each square of four pixels is crossed by straight pieces between its sides
// (marching squares); where two opposite corners are high, they are taken as
// joined, so that no curve crosses itself.
func (f *field) rings(pl *calib.Plane) []geometry.Polyline {
	next := map[int32]int32{} // from crossing to crossing
	var starts []int32
	for y := 0; y+1 < f.height; y++ {
		for x := 0; x+1 < f.width; x++ {
			f.crossings(x, y, func(from, to int32) {
				next[from] = to
				starts = append(starts, from)
			})
		}
	}
	var out []geometry.Polyline
	for _, s := range starts {
		var ring geometry.Polyline
		for e, ok := next[s]; ok; e, ok = next[e] {
			delete(next, s)
			ring = append(ring, f.point(pl, s))
			s = e
		}
		if len(ring) > 2 {
			out = append(out, ring)
		}
	}
	return out
}

// crossings calls join for each piece of curve in the square with top left pixel
// (x, y). A crossing is named by the pixel at its left or upper end: 2i for the
// side that runs right, 2i+1 for the one that runs down.
func (f *field) crossings(x, y int, join func(from, to int32)) {
	i := int32(y*f.width + x)
	w := int32(f.width)
	top, left, bottom, right := 2*i, 2*i+1, 2*(i+w), 2*(i+1)+1
	in := 0
	for k, j := range [4]int32{i, i + 1, i + w + 1, i + w} {
		if f.v[j] >= 0.5 {
			in |= 1 << k
		}
	}
	// Rows run down, so with the high side on the left of travel in plane mm
	// (y up) a single high corner at the top left is rounded from top to left.
	switch in {
	case 1:
		join(left, top)
	case 2:
		join(top, right)
	case 4:
		join(right, bottom)
	case 8:
		join(bottom, left)
	case 3:
		join(left, right)
	case 6:
		join(top, bottom)
	case 12:
		join(right, left)
	case 9:
		join(bottom, top)
	case 5:
		join(left, bottom)
		join(right, top)
	case 10:
		join(top, left)
		join(bottom, right)
	case 14:
		join(top, left)
	case 13:
		join(right, top)
	case 11:
		join(bottom, right)
	case 7:
		join(left, bottom)
	}
}

// point returns where the field crosses one half on a side, in plane mm.
func (f *field) point(pl *calib.Plane, crossing int32) geometry.Point {
	i, step, dx, dy := int(crossing/2), 1, 1.0, 0.0
	if crossing&1 == 1 {
		step, dx, dy = f.width, 0, 1
	}
	a, b := float64(f.v[i]), float64(f.v[i+step])
	t := 0.5
	if a != b {
		t = (0.5 - a) / (b - a)
	}
	x, y := float64(i%f.width+f.x0), float64(i/f.width+f.y0)
	return pl.At(x+t*dx, y+t*dy)
}

// resample returns points spacing mm apart along the ring, or nearly so.
func resample(ring geometry.Polyline, spacing float64) geometry.Polyline {
	total := ring.Length()
	n := max(8, int(math.Round(total/spacing)))
	out := make(geometry.Polyline, 0, n)
	step, walked, k := total/float64(n), 0.0, 0
	for i := range n {
		want := float64(i) * step
		for {
			a, b := ring[k], ring[(k+1)%len(ring)]
			l := a.Dist(b)
			if walked+l >= want || k == len(ring)-1 {
				t := 0.0
				if l > 0 {
					t = min((want-walked)/l, 1)
				}
				out = append(out, a.Lerp(b, t))
				break
			}
			walked += l
			k++
		}
	}
	return out
}
