package outline

import (
	"math"

	"secondcut/geometry"
	"secondcut/vision"
)

// colour is one picture value: blue, green, red, linear or coded, 0..255.
type colour [3]float32

// projector maps a point on the cloth's face, in mm, to the pixel that shows it.
type projector interface {
	ToImage(p geometry.Point) (vision.Pixel, bool)
}

// band holds the colours of all profiles of a base: row i are the colours at
// the offsets (mm, rising) from base point i.
type band struct {
	base
	offsets []float64
	px      []colour // len(at) rows of len(offsets)
	seen    []bool   // the photo shows this point
	pxPerMM []float32
}

// sample reads the profiles out of the photo. The projection is smooth over a
// few millimetres: each profile is projected at three points and the parabola
// through them is followed, which over ten millimetres is right to a few
// thousandths of a pixel.
func sample(photo *vision.Photo, view projector, b base, offsets []float64, decode *[256]float32) *band {
	n, m := len(b.at), len(offsets)
	out := &band{base: b, offsets: offsets, px: make([]colour, n*m), seen: make([]bool, n*m), pxPerMM: make([]float32, n)}
	lo, hi := offsets[0], offsets[m-1]
	mid, half := (lo+hi)/2, (hi-lo)/2
	parallel(n, func(from, to int) {
		for i := from; i < to; i++ {
			p0, ok0 := view.ToImage(b.offset(i, lo))
			p1, ok1 := view.ToImage(b.offset(i, mid))
			p2, ok2 := view.ToImage(b.offset(i, hi))
			if !ok0 || !ok1 || !ok2 {
				continue
			}
			vx, vy := (p2.X-p0.X)/2, (p2.Y-p0.Y)/2
			cx, cy := (p2.X+p0.X)/2-p1.X, (p2.Y+p0.Y)/2-p1.Y
			out.pxPerMM[i] = float32(math.Hypot(vx, vy) / half)
			for k, d := range offsets {
				u := (d - mid) / half
				out.px[i*m+k], out.seen[i*m+k] = bilinear(photo, p1.X+u*(vx+u*cx), p1.Y+u*(vy+u*cy), decode)
			}
		}
	})
	return out
}

// bilinear returns the decoded colour at (x, y) and whether the photo shows it.
func bilinear(p *vision.Photo, x, y float64, decode *[256]float32) (c colour, ok bool) {
	if !(x >= 0 && y >= 0 && x < float64(p.Width-1) && y < float64(p.Height-1)) {
		return c, false
	}
	ix, iy := int(x), int(y)
	fx, fy := float32(x-float64(ix)), float32(y-float64(iy))
	o := (iy*p.Width + ix) * 3
	top, bot := p.BGR[o:o+6:o+6], p.BGR[o+p.Width*3:o+p.Width*3+6]
	for k := range c {
		a := decode[top[k]] + (decode[top[k+3]]-decode[top[k]])*fx
		b := decode[bot[k]] + (decode[bot[k+3]]-decode[bot[k]])*fx
		c[k] = a + (b-a)*fy
	}
	return c, true
}

// span returns offsets from lo to hi at equal steps; none where hi is below lo.
func span(lo, hi, step float64) []float64 {
	n := max(int(math.Round((hi-lo)/step))+1, 0)
	out := make([]float64, n)
	for i := range out {
		out[i] = lo + float64(i)*step
	}
	return out
}

// Picture values are linear light, coded by a curve near the power 1/2.2. Models
// of colour use them as they are. Where an edge lies is read from values raised
// to soft, between coded (1) and linear (2.2): the lens blurs light, but the
// camera sharpens, scales and compresses coded values, so that the middle of the
// step is biased at either end. Chosen on rendered photos of clean edges, dark
// on light and light on dark, where it leaves less than 0.05 mm.
const soft = 1.4

var coded, softened = curve(1), curve(soft)

// curve returns the power curve over 0..255 that keeps both ends.
func curve(power float64) (c [256]float32) {
	for i := range c {
		c[i] = float32(255 * math.Pow(float64(i)/255, power))
	}
	return c
}
