package weave

import (
	"math"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/calib"
	"secondcut/vision/card"
)

// marginMM keeps patches off the edge, where fray, hems and old stitches have
// directions of their own.
const marginMM = 10.0

// site is a place where the cloth is looked at: a square of the photo about a
// pixel, and how the pixels lie on the plane there.
type site struct {
	px vision.Pixel
	// toPx is the derivative of the pixel position by the plane position: row by
	// row, px per mm.
	toPx [4]float64
}

// region is the part of the plane that is cloth and nothing else.
type region struct {
	rings []geometry.Polyline // the outer edge first
	cards []geometry.Point
}

func newRegion(cal *calib.Calibration, outer geometry.Path, holes []geometry.Path) region {
	r := region{rings: []geometry.Polyline{outer.Flatten(0.5)}}
	for _, h := range holes {
		r.rings = append(r.rings, h.Flatten(0.5))
	}
	for _, c := range cal.Cards {
		r.cards = append(r.cards, c.Centre)
	}
	return r
}

// clear reports whether the cloth covers everything within mm of p.
func (r region) clear(p geometry.Point, mm float64) bool {
	for i, ring := range r.rings {
		if ring.Contains(p) != (i == 0) {
			return false
		}
	}
	for _, ring := range r.rings {
		for i, a := range ring {
			if near(p, a, ring[(i+1)%len(ring)], mm) {
				return false
			}
		}
	}
	for _, c := range r.cards {
		if c.Dist(p) < mm+card.SideMM*math.Sqrt2/2 {
			return false
		}
	}
	return true
}

// near reports whether the stretch from a to b comes closer to p than mm.
func near(p, a, b geometry.Point, mm float64) bool {
	ab, ap := b.Sub(a), p.Sub(a)
	t := min(max(ap.Dot(ab)/max(ab.Dot(ab), 1e-12), 0), 1)
	d := ap.Add(ab.Scale(-t))
	return d.Dot(d) < mm*mm
}

// sites returns up to most places spread over the region, each at the middle of
// side x side pixels of clear cloth.
func sites(cal *calib.Calibration, r region, side, most int) []site {
	lo, hi := r.rings[0].Bounds()
	scale := cal.PxPerMM(lo.Lerp(hi, 0.5))
	if scale <= 0 {
		return nil
	}
	// Neighbours overlap by a third: their windows fade toward their rims.
	step := float64(side) / scale * 2 / 3
	nx, ny := int((hi.X-lo.X)/step), int((hi.Y-lo.Y)/step)
	if nx*ny > maxTries {
		step *= math.Sqrt(float64(nx*ny) / maxTries)
		nx, ny = int((hi.X-lo.X)/step), int((hi.Y-lo.Y)/step)
	}
	mid := lo.Lerp(hi, 0.5)
	var all []site
	for j := -ny / 2; j <= ny/2; j++ {
		for i := -nx / 2; i <= nx/2; i++ {
			p := mid.Add(geometry.Vec{X: float64(i) * step, Y: float64(j) * step})
			if s, ok := siteAt(cal, r, p, side); ok {
				all = append(all, s)
			}
		}
	}
	if len(all) <= most {
		return all
	}
	kept := make([]site, most)
	for i := range kept {
		kept[i] = all[i*len(all)/most]
	}
	return kept
}

// maxTries bounds the places that are tested for clear cloth.
const maxTries = 400

func siteAt(cal *calib.Calibration, r region, p geometry.Point, side int) (s site, ok bool) {
	scale := cal.PxPerMM(p)
	// The window has faded to nothing in the corners, so that the circle within
	// the square is what counts.
	if scale <= 0 || !r.clear(p, float64(side)/scale/2+marginMM) {
		return s, false
	}
	px, ok := cal.ToImage(p)
	half := float64(side)/2 + 1
	if !ok || px.X < half || px.Y < half || px.X > float64(cal.Width)-half || px.Y > float64(cal.Height)-half {
		return s, false
	}
	const h = 0.5
	e, okE := cal.ToImage(p.Add(geometry.Vec{X: h}))
	n, okN := cal.ToImage(p.Add(geometry.Vec{Y: h}))
	s = site{px, [4]float64{(e.X - px.X) / h, (n.X - px.X) / h, (e.Y - px.Y) / h, (n.Y - px.Y) / h}}
	return s, okE && okN
}

// cut returns size x size values about the site, each the mean of bin x bin
// pixels: lightness in the real part, the balance of red and blue in the
// imaginary part. The mean and the slope are taken out, and the rims faded, so
// that neither light nor the frame leaves a mark in the spectrum.
func cut(photo *vision.Photo, s site, size, bin int, out []complex128) {
	x0 := int(math.Round(s.px.X)) - size*bin/2
	y0 := int(math.Round(s.px.Y)) - size*bin/2
	norm := 1 / float64(4*bin*bin)
	for j := range size {
		for i := range size {
			var l, c int
			for y := y0 + j*bin; y < y0+(j+1)*bin; y++ {
				row := photo.BGR[3*(y*photo.Width+x0+i*bin):]
				for x := range bin {
					b, g, r := int(row[3*x]), int(row[3*x+1]), int(row[3*x+2])
					l += b + 2*g + r
					c += r - b
				}
			}
			out[j*size+i] = complex(float64(l)*norm, float64(c)*norm)
		}
	}
	level(out, size)
}

// level takes out the best plane and applies a Hann window.
func level(v []complex128, size int) {
	var mean, sx, sy complex128
	var q float64
	m := float64(size-1) / 2
	for i, z := range v {
		x, y := float64(i%size)-m, float64(i/size)-m
		mean += z
		sx += z * complex(x, 0)
		sy += z * complex(y, 0)
		q += x * x
	}
	n := complex(float64(len(v)), 0)
	mean, sx, sy = mean/n, sx/complex(q, 0), sy/complex(q, 0)
	w := make([]float64, size)
	for i := range w {
		w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(size))
	}
	for i, z := range v {
		x, y := float64(i%size)-m, float64(i/size)-m
		v[i] = (z - mean - sx*complex(x, 0) - sy*complex(y, 0)) * complex(w[i%size]*w[i/size], 0)
	}
}
