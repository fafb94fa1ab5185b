package segment

import (
	"math/rand/v2"

	"secondcut/geometry"
	"secondcut/vision/calib"
)

// drawing is a plane image of known content: one pixel to the millimetre, plane
// frame with its origin at the lower left pixel.
type drawing struct {
	pl    *calib.Plane
	truth []bool
	rand  *rand.Rand
}

type bgr [3]float64

var (
	wood = bgr{90, 130, 170}
	blue = bgr{140, 80, 50}
)

// newDrawing is a floor of one colour with grain along x and noise.
func newDrawing(width, height int, floor bgr, grain, noise float64) *drawing {
	d := &drawing{
		pl: &calib.Plane{
			Width: width, Height: height, PxPerMM: 1, Origin: geometry.Point{Y: float64(height - 1)},
			BGR: make([]byte, 3*width*height), Known: make([]byte, width*height),
		},
		truth: make([]bool, width*height),
		rand:  rand.New(rand.NewPCG(7, uint64(width))),
	}
	for y := range height {
		tone := grain * d.rand.NormFloat64()
		for x := range width {
			i := y*width + x
			d.pl.Known[i] = calib.KnownScene
			d.set(i, floor, tone+noise*d.rand.NormFloat64())
		}
	}
	return d
}

func (d *drawing) set(i int, c bgr, add float64) {
	for k := range 3 {
		d.pl.BGR[3*i+k] = byte(min(max(c[k]+add, 0), 255))
	}
}

// each calls do for every pixel inside the ring.
func (d *drawing) each(ring geometry.Polyline, do func(i, x, y int)) {
	for y := range d.pl.Height {
		for x := range d.pl.Width {
			if ring.Contains(d.pl.At(float64(x), float64(y))) {
				do(y*d.pl.Width+x, x, y)
			}
		}
	}
}

// cloth lays a piece whose colour may depend on the place.
func (d *drawing) cloth(ring geometry.Polyline, colour func(x, y int) bgr) {
	d.each(ring, func(i, x, y int) {
		d.truth[i] = true
		d.set(i, colour(x, y), 4*d.rand.NormFloat64())
	})
}

// hole puts the floor back.
func (d *drawing) hole(ring geometry.Polyline, floor bgr) {
	d.each(ring, func(i, _, _ int) {
		d.truth[i] = false
		d.set(i, floor, 4*d.rand.NormFloat64())
	})
}

// card lays a white card with a black square on the image.
func (d *drawing) card(x0, y0 float64) {
	d.unreadCard(x0, y0)
	d.each(box(x0, y0, x0+80, y0+80), func(i, _, _ int) { d.pl.Known[i] = calib.KnownCard })
}

// unreadCard lays a card of which nothing is known.
func (d *drawing) unreadCard(x0, y0 float64) {
	d.each(box(x0, y0, x0+80, y0+80), func(i, _, _ int) { d.set(i, bgr{235, 235, 235}, 0) })
	d.each(box(x0+20, y0+20, x0+60, y0+60), func(i, _, _ int) { d.set(i, bgr{25, 25, 25}, 0) })
}

// light multiplies all colours.
func (d *drawing) light(by func(x, y int) float64) {
	for i := range d.truth {
		k := by(i%d.pl.Width, i/d.pl.Width)
		for c := range 3 {
			d.pl.BGR[3*i+c] = byte(min(float64(d.pl.BGR[3*i+c])*k, 255))
		}
	}
}

// overlap is the intersection over the union of the regions and the truth, on
// every third pixel of every third row.
func (d *drawing) overlap(regions []Region) float64 {
	both, either := 0, 0
	for i, want := range d.truth {
		if i%d.pl.Width%3 != 0 || i/d.pl.Width%3 != 0 {
			continue
		}
		p := d.pl.At(float64(i%d.pl.Width), float64(i/d.pl.Width))
		got := false
		for _, r := range regions {
			in := r.Outer.Points.Contains(p)
			for _, h := range r.Holes {
				in = in && !h.Points.Contains(p)
			}
			got = got || in
		}
		if got && want {
			both++
		}
		if got || want {
			either++
		}
	}
	return float64(both) / float64(max(either, 1))
}

func box(x0, y0, x1, y1 float64) geometry.Polyline {
	return geometry.Polyline{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
}

func all(c bgr) func(x, y int) bgr { return func(_, _ int) bgr { return c } }
